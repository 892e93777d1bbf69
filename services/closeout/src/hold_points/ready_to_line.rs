//! # Holds
//! Pull-in, until the cleaned pipe was seen and found fit.
//! # Why
//! Grit, roots and protruding taps under a liner stay there for good.
//! # Released when
//! The last ready-to-line survey before each pull-in saw the whole segment after its cleaning,
//! calls it ready, and is no older than the limit when pull-in begins. Cleaning is shown by the
//! run's step or by a signed document of the kind `cleaning-log`.
//! # Evidence
//! CCTV survey, run, document.
//! # Parameters
//! None.
//! # Source
//! The age allowed differs between owners; the limit's source names it.

use obvert_proto::{
    acceptance::v1::{Survey, SurveyPurpose},
    installation::v1::StepKind,
};

use super::{
    Evaluator, Judgement, Judging, Outcome,
    evidence_present::papers,
    found,
    words::{date, hours, ms},
};
use crate::{
    plan::Operator,
    segment_file::{Kept, step_end_ms, step_start_ms},
};

const AGE: (&str, Operator) = ("ready_to_line_age_h", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "ready-to-line",
    proves: "the host pipe was seen after cleaning and just before pull-in, and was fit to line",
    parameters: &[],
    limits: &[AGE],
    evidence: &["cctv-survey", "run", "document"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let surveys = file.surveys_of(SurveyPurpose::ReadyToLine);
    let pull_ins: Vec<_> = file
        .lining_runs()
        .into_iter()
        .filter_map(|run| step_start_ms(run, StepKind::PullIn).map(|at| (run, at)))
        .collect();
    if pull_ins.is_empty() {
        match surveys.last() {
            Some(survey) => fit(judging, &mut j, survey),
            None => missing(&mut j),
        }
    }
    for (run, pull_in) in pull_ins {
        let before = |survey: &&&Kept<Survey>| {
            ms(survey.start_time.as_ref()).is_some_and(|start| start <= pull_in)
        };
        let Some(survey) = surveys.iter().rev().find(before) else {
            missing(&mut j);
            continue;
        };
        fit(judging, &mut j, survey);
        let age = hours(ms(survey.start_time.as_ref()).unwrap_or_default(), pull_in);
        if judging.limit(AGE).is_some_and(|limit| !limit.takes(age)) {
            let limit = judging
                .limit(AGE)
                .map_or(String::new(), |limit| limit.words());
            let message = format!(
                "the ready-to-line survey was {} h old at pull-in, the plan requires {limit}: a \
                 variance needs its reason",
                super::figure(age)
            );
            let found = found("ready-to-line-too-old", message)
                .of(survey.record())
                .of(run.record());
            j.hold(found.fact("ready_to_line_age_h", age));
        }
    }
    j.outcome()
}

fn missing(j: &mut Judgement<'_>) {
    let remedy = "clean, send the camera through before pull-in and file the survey";
    j.missing("cctv-survey", "the ready-to-line survey", remedy);
}

/// What comes later may hold the point; the facts of its release are the survey's alone.
fn fit(judging: &Judging<'_>, j: &mut Judgement<'_>, survey: &Kept<Survey>) {
    j.uses(survey);
    let start = ms(survey.start_time.as_ref()).unwrap_or_default();
    let ready = survey.ready_to_line;
    j.fact("survey_start_ms", start);
    j.fact("complete", survey.complete);
    j.fact(
        "ready_to_line",
        ready.map_or("not said", |ready| if ready { "yes" } else { "no" }),
    );
    if !survey.complete {
        let message =
            "the ready-to-line survey did not see the whole segment: send the camera again";
        j.hold(found("survey-incomplete", message).of(survey.record()));
    }
    if ready != Some(true) {
        let says = ready.map_or(
            "does not say whether the pipe is ready",
            |_| "calls the pipe not ready",
        );
        let message =
            format!("the ready-to-line survey {says}: prepare the pipe and send the camera again");
        j.hold(found("not-ready-to-line", message).of(survey.record()));
    }
    cleaned_before(judging, j, survey, start);
}

fn cleaned_before(judging: &Judging<'_>, j: &mut Judgement<'_>, survey: &Kept<Survey>, start: i64) {
    let file = judging.file;
    let runs = file.lining_runs();
    let cleaned: Vec<_> = runs
        .iter()
        .filter_map(|run| step_end_ms(run, StepKind::Cleaning))
        .collect();
    if let Some(late) = cleaned.iter().find(|end| **end > start) {
        let message = format!(
            "the ready-to-line survey began at {}, before cleaning ended at {}: send the camera \
             again",
            file.local_time(start),
            file.local_time(*late)
        );
        j.hold(found("survey-before-cleaning", message).of(survey.record()));
    }
    let day = file.local_date(start);
    let logs = papers(judging, "cleaning-log", &file.name);
    let in_time = logs.iter().find(|log| {
        !log.signed_by.is_empty()
            && date(log.signed_date.as_ref()).is_some_and(|signed| signed <= day)
    });
    if let Some(log) = in_time {
        j.uses(*log);
    }
    if cleaned.is_empty() && in_time.is_none() {
        let remedy = "file a signed cleaning-log, or the run with its cleaning step";
        j.missing(
            "cleaning-record",
            "the record of cleaning before this survey",
            remedy,
        );
    }
}
