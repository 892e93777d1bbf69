//! # Holds
//! Acceptance, until the finished wall was measured and is thick enough.
//! # Why
//! A wall measured with its films looks thicker than the wall that carries.
//! # Released when
//! For every run the readings of its deciding reports, counted on the design's basis, meet the
//! plan's rule against the required wall, or against the ordered wall where the rule says so. A
//! flat plate is no evidence of the wall.
//! # Evidence
//! Run, sample, laboratory report, wall design, liner order.
//! # Parameters
//! None.
//! # Source
//! The rules and where each was read stand with `WallTolerance`. That a plate is no evidence of the
//! wall: City of South Bend IN, Design & Construction Standards, section 4.

use obvert_engineering::wall_tolerance::{WallJudgement, WallTolerance};
use obvert_proto::{
    acceptance::v1::{LaboratoryReport, SampleMethod},
    common::v1::{RecordRef, ThicknessBasis},
    installation::v1::Run,
};

use super::{
    Evaluator, Judgement, Judging, Outcome, figure, found, laboratory_report::deciding_reports,
};
use crate::{
    plan::{LimitValue, Operator},
    segment_file::{Kept, by_name},
};

const RULE: (&str, Operator) = ("wall_rule", Operator::Equal);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "measured-wall",
    proves: "the finished wall is as thick as the plan's rule asks, on the design's basis",
    parameters: &[],
    limits: &[RULE],
    evidence: &[
        "run",
        "sample",
        "laboratory-report",
        "wall-design",
        "liner-order",
    ],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let Some(design) = judging.file.design() else {
        j.missing("wall-design", "the design of the wall", "file it");
        return j.outcome();
    };
    j.uses(design);
    let wants = design
        .inputs
        .as_ref()
        .map(|inputs| inputs.thickness_basis())
        .unwrap_or_default();
    let required = design
        .result
        .as_ref()
        .map_or(f64::NAN, |result| result.required_wall_thickness_mm);
    j.fact("required_wall_thickness_mm", required);
    for run in j.runs() {
        let mut measured = 0;
        for report in deciding_reports(judging, &run.name) {
            j.uses(report);
            let Some(sample) = j.named(&judging.file.samples, &report.sample, "sample") else {
                continue;
            };
            if sample.method() == SampleMethod::Plate {
                let message = format!(
                    "sample {} is a flat plate: its thickness is no evidence of the wall",
                    sample.sample_number
                );
                j.note(
                    found("plate-no-evidence", message)
                        .of(sample.record())
                        .of(report.record()),
                );
                continue;
            }
            measured += 1;
            if let Some(asked) = asked_for(judging, &mut j, run, required) {
                readings(judging, &mut j, report, wants, &asked, design.record());
            }
        }
        if measured == 0 {
            let what = format!("a measurement of the finished wall of run {}", run.number());
            j.missing_about(
                &run.name,
                "wall-measurement",
                &what,
                "have a restrained or cut-out sample measured",
            );
        }
    }
    j.outcome()
}

/// The wall that readings are held against, and how.
struct Asked {
    rule: WallTolerance,
    wall_mm: f64,
    what: &'static str,
}

fn asked_for<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
    run: &Kept<Run>,
    required_mm: f64,
) -> Option<Asked> {
    let word = match judging.limit(RULE).map(|limit| &limit.value) {
        Some(LimitValue::Word(word)) => word.as_str(),
        _ => "",
    };
    let rule = match word {
        "mean-of-readings" => WallTolerance::MeanOfReadings,
        "point-at-87.5-percent" => WallTolerance::PointAt87Percent,
        "iso" => WallTolerance::Iso,
        "five-percent-of-ordered" => {
            let liner = by_name(&judging.file.liners, &run.liner)?;
            let order = j.named(&judging.file.orders, &liner.order, "order")?;
            let wall_mm = order
                .wall
                .as_ref()
                .map_or(f64::NAN, |wall| wall.wall_thickness_mm);
            let rule = WallTolerance::FivePercentOfOrdered;
            return Some(Asked {
                rule,
                wall_mm,
                what: "ordered",
            });
        }
        _ => {
            j.hold(found(
                "limit-missing",
                "the plan sets no wall_rule: add it to the plan",
            ));
            return None;
        }
    };
    Some(Asked {
        rule,
        wall_mm: required_mm,
        what: "required",
    })
}

fn readings(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    report: &Kept<LaboratoryReport>,
    wants: ThicknessBasis,
    asked: &Asked,
    design: RecordRef,
) {
    let number = &report.report_number;
    j.fact(
        format!("{}.basis", report.id()),
        report.thickness_basis().word(),
    );
    j.fact(
        format!("{}.readings_mm", report.id()),
        format!("{:?}", report.wall_readings_mm),
    );
    if report.thickness_basis() != wants {
        let message = format!(
            "report {number} counts {}, the design counts {}: the two are never compared, have \
             the wall measured on the design's basis",
            report.thickness_basis().word(),
            wants.word()
        );
        j.hold(
            found("thickness-basis-differs", message)
                .of(report.record())
                .of(design),
        );
        return;
    }
    match asked.rule.judge(&report.wall_readings_mm, asked.wall_mm) {
        Ok(judged) => met(judging, j, report, asked, judged, design),
        Err(problems) => {
            let message = format!("the readings of report {number} cannot be judged: {problems}");
            j.hold(found("wall-not-judged", message).of(report.record()));
        }
    }
}

fn met(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    report: &Kept<LaboratoryReport>,
    asked: &Asked,
    judged: WallJudgement,
    design: RecordRef,
) {
    let rule = judging
        .limit(RULE)
        .map_or(String::new(), |limit| limit.words());
    let mut under = |code: &str, what: &str, value: f64, limit: Option<f64>| {
        let limit = limit.unwrap_or_default();
        let message = format!(
            "{what} of the wall in report {} is {} mm, the rule takes {} mm of the {} {} mm \
             (wall_rule {rule}): cut a piece from the wall, or have the engineer check the design \
             on it",
            report.report_number,
            figure(value),
            figure(limit),
            asked.what,
            figure(asked.wall_mm)
        );
        let found = found(code, message).of(report.record()).of(design.clone());
        j.hold(
            found
                .fact("wall_thickness_mm", value)
                .fact("limit_mm", limit),
        );
    };
    if !judged.mean_is_met() {
        under(
            "wall-mean-too-thin",
            "mean",
            judged.mean_mm,
            judged.mean_limit_mm,
        );
    }
    if !judged.minimum_is_met() {
        under(
            "wall-reading-too-thin",
            "least reading",
            judged.minimum_mm,
            judged.minimum_limit_mm,
        );
    }
}
