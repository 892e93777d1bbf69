//! # Holds
//! Acceptance, when the papers' dates tell a story that cannot have happened.
//! # Why
//! A liner made before it was ordered, or tested before it was cut, belongs to another segment.
//! # Released when
//! Survey, design, order, making, receipt, pull-in, cure, cut, laboratory and last camera follow
//! each other, as instants where both have one, else as dates on site; one day may hold several.
//! # Evidence
//! Field survey, wall design, liner order, liner certificate, receiving check, run, sample,
//! laboratory report, CCTV survey.
//! # Parameters
//! `samples`: whether every run must have a sample and a report; true when left out. A plan that
//! samples segments sets it false; those that there are count all the same.
//! # Source
//! Own rule.

use jiff::civil::Date;
use obvert_proto::{common::v1::RecordRef, installation::v1::StepKind};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind,
    certified_wall::{certificate_of, liners},
    found,
    words::{date, ms},
};
use crate::segment_file::{step_end_ms, step_start_ms};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "date-order",
    proves: "the dates of all papers follow each other",
    parameters: &[ParameterKind::flag(
        "samples",
        "every run must have a sample and a report; true",
    )],
    limits: &[],
    evidence: &[
        "field-survey",
        "wall-design",
        "liner-order",
        "liner-certificate",
        "receiving-check",
        "run",
        "sample",
        "laboratory-report",
        "cctv-survey",
    ],
    judge,
};

/// One event of the story.
struct Event {
    what: String,
    day: Date,
    ms: Option<i64>,
    record: RecordRef,
}

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let before = before_the_liner(judging, &mut j);
    let survey = last_camera(judging, &mut j);
    for liner in liners(judging, &mut j) {
        let mut story: Vec<&Event> = before.iter().collect();
        let of_liner = of_liner(judging, &mut j, &liner.name);
        story.extend(&of_liner);
        follow(judging, &mut j, &story);
        let file = judging.file;
        for run in file
            .lining_runs()
            .into_iter()
            .filter(|run| run.liner == liner.name)
        {
            j.uses(run);
            let work = of_run(judging, &mut j, run);
            let mut story: Vec<&Event> = of_liner.iter().collect();
            story.extend(&work);
            story.extend(&survey);
            follow(judging, &mut j, &story);
            of_samples(judging, &mut j, run, work.last());
        }
    }
    j.runs();
    j.outcome()
}

fn at(judging: &Judging<'_>, what: &str, ms: Option<i64>, record: RecordRef) -> Option<Event> {
    let what = what.to_owned();
    ms.map(|ms| Event {
        what,
        day: judging.file.local_date(ms),
        ms: Some(ms),
        record,
    })
}

fn on(what: &str, day: Option<Date>, record: RecordRef) -> Option<Event> {
    day.map(|day| Event {
        what: what.to_owned(),
        day,
        ms: None,
        record,
    })
}

fn before_the_liner<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>) -> Vec<Event> {
    let file = judging.file;
    let mut events = Vec::new();
    match file.field_survey() {
        Some(survey) => {
            j.uses(survey);
            events.extend(at(
                judging,
                "field survey",
                ms(survey.survey_time.as_ref()),
                survey.record(),
            ));
        }
        None => j.missing("field-survey", "the field survey", "file it"),
    }
    match file.design() {
        Some(design) => {
            j.uses(design);
            events.extend(on(
                "seal of the design",
                date(design.sealed_date.as_ref()),
                design.record(),
            ));
        }
        None => j.missing("wall-design", "the design of the wall", "file it"),
    }
    events
}

fn of_liner<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>, name: &str) -> Vec<Event> {
    let file = judging.file;
    let mut events = Vec::new();
    let liner = file.liners.iter().find(|liner| liner.name == name);
    if let Some(order) = liner.and_then(|liner| j.named(&file.orders, &liner.order, "order")) {
        events.extend(on("order", date(order.order_date.as_ref()), order.record()));
    }
    match certificate_of(judging, name) {
        Some(certificate) => {
            j.uses(certificate);
            events.extend(on(
                "making",
                date(certificate.wet_out_date.as_ref()),
                certificate.record(),
            ));
        }
        None => j.missing("liner-certificate", "the maker's certificate", "file it"),
    }
    let checks = file
        .receiving_checks
        .iter()
        .filter(|check| check.liner == name);
    match checks.max_by_key(|check| check.revision) {
        Some(check) => {
            j.uses(check);
            events.extend(at(
                judging,
                "receipt",
                ms(check.received_time.as_ref()),
                check.record(),
            ));
        }
        None => j.missing("receiving-check", "the receiving check", "file it"),
    }
    events
}

fn of_run(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    run: &crate::segment_file::Kept<obvert_proto::installation::v1::Run>,
) -> Vec<Event> {
    let pull_in = step_start_ms(run, StepKind::PullIn);
    let cure = step_end_ms(run, StepKind::Cure);
    if pull_in.is_none() || cure.is_none() {
        let what = format!("pull-in and cure among the steps of run {}", run.number());
        j.missing_about(
            &run.name,
            "run-times",
            &what,
            "revise the run with its times",
        );
    }
    let events = [
        at(judging, "pull-in", pull_in, run.record()),
        at(judging, "end of the cure", cure, run.record()),
    ];
    events.into_iter().flatten().collect()
}

fn of_samples(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    run: &crate::segment_file::Kept<obvert_proto::installation::v1::Run>,
    cure: Option<&Event>,
) {
    let file = judging.file;
    let samples: Vec<_> = file
        .samples
        .iter()
        .filter(|sample| sample.run == run.name)
        .collect();
    let mut tested = 0;
    for sample in &samples {
        j.uses(*sample);
        let cut = at(
            judging,
            "cut of the sample",
            ms(sample.cut_time.as_ref()),
            sample.record(),
        );
        let story: Vec<&Event> = cure.into_iter().chain(&cut).collect();
        follow(judging, j, &story);
        for report in file
            .reports
            .iter()
            .filter(|report| report.sample == sample.name)
        {
            tested += 1;
            j.uses(report);
            let record = || report.record();
            let received = on(
                "receipt at the laboratory",
                date(report.received_date.as_ref()),
                record(),
            );
            let test = on("test", date(report.tested_date.as_ref()), record());
            let signed = on("report", date(report.reported_date.as_ref()), record());
            let story: Vec<&Event> = cut
                .iter()
                .chain(&received)
                .chain(&test)
                .chain(&signed)
                .collect();
            follow(judging, j, &story);
        }
    }
    let asked = judging.flag("samples", true);
    if samples.is_empty() && asked {
        j.missing_about(
            &run.name,
            "sample",
            &format!("a sample of run {}", run.number()),
            "file it",
        );
    }
    if tested == 0 && asked {
        let what = format!("a laboratory report on run {}", run.number());
        j.missing_about(&run.name, "laboratory-report", &what, "file it");
    }
}

fn last_camera(judging: &Judging<'_>, j: &mut Judgement<'_>) -> Option<Event> {
    let Some(survey) = judging.file.last_post_survey() else {
        j.missing("cctv-survey", "the survey after lining", "file it");
        return None;
    };
    j.uses(survey);
    at(
        judging,
        "survey after lining",
        ms(survey.start_time.as_ref()),
        survey.record(),
    )
}

/// Holds every event that comes before the one ahead of it.
fn follow(judging: &Judging<'_>, j: &mut Judgement<'_>, story: &[&Event]) {
    for event in story {
        let id = obvert_records::names::id_of(&event.record.name);
        j.fact(
            format!("{id} {}", event.what),
            event.ms.map_or(event.day.to_string(), |ms| ms.to_string()),
        );
    }
    for pair in story.windows(2) {
        let [first, second] = pair else { continue };
        let backwards = match first.ms.zip(second.ms) {
            Some((first, second)) => first > second,
            None => first.day > second.day,
        };
        if backwards {
            let time = |event: &Event| {
                event
                    .ms
                    .map_or(event.day.to_string(), |ms| judging.file.local_time(ms))
            };
            let message = format!(
                "{} on {} comes before {} on {}: correct the date, or find out whose paper it is",
                second.what,
                time(second),
                first.what,
                time(first)
            );
            let found = found("dates-out-of-order", message).of(first.record.clone());
            j.hold(
                found
                    .of(second.record.clone())
                    .fact("first", &first.what)
                    .fact("second", &second.what),
            );
        }
    }
}
