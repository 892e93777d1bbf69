//! # Holds
//! Acceptance, until the liner of every run was tested and is as stiff and strong as designed.
//! # Why
//! A liner designed thin on a high modulus may pass a standard's floor and still fail its design.
//! # Released when
//! Every run has a laboratory report on a sample of this segment with enough specimens, whose mean
//! modulus and strength reach first the values of this segment's design and then the limits of the
//! plan. A sample cut from the wall decides over the others of its run. A report that came after
//! its day is noted; one that has not come holds and says whether it is overdue.
//! # Evidence
//! Run, sample, laboratory report, wall design.
//! # Parameters
//! `tightness`: whether the laminate must have been tested tight; false when left out. A laminate
//! tested leaky always holds. `hoop_specimens`: whether a specimen must span the hoop direction;
//! false when left out.
//! # Source
//! The design of the segment; floors by the plan. That a piece of the wall decides: D. Stein,
//! Instandhaltung von Kanalisationen (2001), 5.3.2.4.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, SampleMethod},
    common::v1::RecordRef,
    counted,
    design::v1::WallDesign,
    installation::v1::{Run, StepKind},
    rules,
};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind, figure, found,
    words::{date, days},
};
use crate::{
    plan::Operator,
    segment_file::{Kept, by_name, step_start_ms},
};

const DUE: (&str, Operator) = ("laboratory_report_due_days", Operator::AtMost);
const MODULUS: (&str, Operator) = ("flexural_modulus_mpa", Operator::AtLeast);
const STRENGTH: (&str, Operator) = ("flexural_strength_mpa", Operator::AtLeast);
const SPECIMENS: (&str, Operator) = ("specimen_count", Operator::AtLeast);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "laboratory-report",
    proves: "the finished liner is as stiff and as strong as designed",
    parameters: &[
        ParameterKind::flag(
            "tightness",
            "the laminate must have been tested tight; false",
        ),
        ParameterKind::flag(
            "hoop_specimens",
            "a specimen must span the hoop direction; false",
        ),
    ],
    limits: &[DUE, MODULUS, STRENGTH, SPECIMENS],
    evidence: &["run", "sample", "laboratory-report", "wall-design"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let design = judging.file.design();
    match design {
        Some(design) => j.uses(design),
        None => j.missing(
            "wall-design",
            "the design whose values the liner must reach",
            "file it",
        ),
    }
    for run in j.runs() {
        let deciding = deciding_reports(judging, &run.name);
        if deciding.is_empty() {
            absent(judging, &mut j, run);
        }
        for report in judging.file.reports_of(&run.name) {
            j.uses(report);
            if let Some(sample) = by_name(&judging.file.samples, &report.sample) {
                j.uses(sample);
            }
            if deciding.contains(&report) {
                on_time(judging, &mut j, run, report);
                result(judging, &mut j, report, design);
            } else {
                let message = format!(
                    "laboratory report {} is kept and does not decide: a piece cut from the wall \
                     was tested",
                    report.report_number
                );
                j.note(found("report-superseded", message).of(report.record()));
            }
        }
    }
    j.outcome()
}

/// Reports that decide for a run: those on pieces of the wall where there is one, else all.
pub(super) fn deciding_reports<'a>(
    judging: &Judging<'a>,
    run: &str,
) -> Vec<&'a Kept<LaboratoryReport>> {
    let reports = judging.file.reports_of(run);
    let from_wall = |report: &&&Kept<LaboratoryReport>| {
        by_name(&judging.file.samples, &report.sample)
            .is_some_and(|sample| sample.method() == SampleMethod::CutFromWall)
    };
    let decisive: Vec<_> = reports.iter().filter(from_wall).copied().collect();
    if decisive.is_empty() {
        reports
    } else {
        decisive
    }
}

fn absent(judging: &Judging<'_>, j: &mut Judgement<'_>, run: &Kept<Run>) {
    let installed = step_start_ms(run, StepKind::PullIn).map(|ms| judging.file.local_date(ms));
    let today = judging.file.local_date(judging.file.commit_time_ms);
    let age = installed.map_or(0, |installed| days(installed, today));
    let limit = judging.limit(DUE);
    let overdue = limit.is_some_and(|limit| !limit.takes(age as f64));
    let due = limit.map_or(String::new(), |limit| limit.words());
    let what = format!("the laboratory report of run {}", run.number());
    let remedy = if overdue {
        format!(
            "it is overdue, {} after pull-in where the plan takes {due}; call the laboratory",
            counted(age, "day", "days")
        )
    } else {
        format!("it is due {due} after pull-in; file it when it comes")
    };
    j.missing_about(&run.name, "laboratory-report", &what, &remedy);
}

fn on_time(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    run: &Kept<Run>,
    report: &Kept<LaboratoryReport>,
) {
    let installed = step_start_ms(run, StepKind::PullIn).map(|ms| judging.file.local_date(ms));
    let signed = date(report.reported_date.as_ref());
    let (Some(installed), Some(signed), Some(limit)) = (installed, signed, judging.limit(DUE))
    else {
        return;
    };
    let age = days(installed, signed);
    if !limit.takes(age as f64) {
        let message = format!(
            "laboratory report {} was signed {} after pull-in, the plan takes {}",
            report.report_number,
            counted(age, "day", "days"),
            limit.words()
        );
        j.note(found("laboratory-report-late", message).of(report.record()));
    }
}

fn result(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    report: &Kept<LaboratoryReport>,
    design: Option<&Kept<WallDesign>>,
) {
    let number = &report.report_number;
    let mean = |value: fn(&obvert_proto::acceptance::v1::Specimen) -> f64| {
        report.specimens.iter().map(value).sum::<f64>() / report.specimens.len() as f64
    };
    let modulus = mean(|specimen| specimen.flexural_modulus_mpa);
    let strength = mean(|specimen| specimen.flexural_strength_mpa);
    if let Some((design, inputs)) = design.and_then(|d| d.inputs.as_ref().map(|inputs| (d, inputs)))
    {
        let both = [report.record(), design.record()];
        let modulus = (
            "flexural_modulus_mpa",
            modulus,
            inputs.short_term_flexural_modulus_mpa,
        );
        let strength = (
            "flexural_strength_mpa",
            strength,
            inputs.short_term_flexural_strength_mpa,
        );
        reaches_design(j, report, modulus, &both);
        reaches_design(j, report, strength, &both);
    }
    let remedy = "test the retained sample, then cut one from the wall, which decides";
    let key = |name: &str| format!("{}.{name}", report.id());
    let only = [report.record()];
    let what = format!("mean flexural modulus in report {number}");
    let codes = ("modulus-below-floor", &*key("flexural_modulus_mpa"));
    j.within(codes, modulus, MODULUS, (&what, remedy), &only);
    let what = format!("mean flexural strength in report {number}");
    let codes = ("strength-below-floor", &*key("flexural_strength_mpa"));
    j.within(codes, strength, STRENGTH, (&what, remedy), &only);
    let what = format!("number of specimens in report {number}");
    let codes = ("too-few-specimens", &*key("specimen_count"));
    let count = report.specimens.len() as f64;
    j.within(
        codes,
        count,
        SPECIMENS,
        (&what, "have more specimens tested"),
        &only,
    );
    other_tests(judging, j, report);
}

fn reaches_design(
    j: &mut Judgement<'_>,
    report: &Kept<LaboratoryReport>,
    (name, value, design): (&str, f64, f64),
    both: &[RecordRef],
) {
    j.fact(format!("design.{name}"), design);
    let unit = rules::unit(name);
    if value.is_nan() || value < design - 1e-9 {
        let message = format!(
            "mean {} in report {} is {} {unit}, the design of this segment requires {} {unit}: test \
             the retained sample, then cut one from the wall, or have the engineer check the design \
             on the measured values",
            rules::label(name),
            report.report_number,
            figure(value),
            figure(design)
        );
        let code = format!(
            "{}-below-design",
            name.trim_start_matches("flexural_")
                .trim_end_matches("_mpa")
        );
        j.hold(
            found(code, message)
                .of_all(both.iter().cloned())
                .fact(name, value)
                .fact("design", design),
        );
    }
}

fn other_tests(judging: &Judging<'_>, j: &mut Judgement<'_>, report: &Kept<LaboratoryReport>) {
    let number = &report.report_number;
    if judging.flag("hoop_specimens", false) && !report.specimens.iter().any(|s| s.hoop_direction) {
        let message =
            format!("no specimen in report {number} spans the hoop direction: have one tested");
        j.hold(found("no-hoop-specimen", message).of(report.record()));
    }
    j.fact(
        format!("{}.laminate_tight", report.id()),
        format!("{:?}", report.laminate_tight),
    );
    match report.laminate_tight {
        Some(false) => {
            let message =
                format!("the laminate in report {number} is leaky: raise a nonconformance");
            j.hold(found("laminate-leaky", message).of(report.record()));
        }
        None if judging.flag("tightness", false) => {
            let what = format!("the tightness of the laminate in report {number}");
            j.missing_about(&report.name, "laminate-tightness", &what, "have it tested");
        }
        _ => {}
    }
}
