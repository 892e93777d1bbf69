//! # Holds
//! Acceptance, when the lengths of one segment do not agree.
//! # Why
//! Two lengths in two papers are two invoices; a camera that saw less did not see all.
//! # Released when
//! The length the last survey after lining counted, turned from wall to wall by its datum, agrees
//! with the registered length within the plan's limits, and so does the field survey; and the cure
//! logs of all runs together cover at least the segment.
//! # Evidence
//! Segment, CCTV survey, field survey, run, cure log.
//! # Parameters
//! None.
//! # Source
//! Own rule; the limits are the plan's.

use obvert_proto::common::v1::{Datum, RecordRef};

use super::{Evaluator, Judgement, Judging, Outcome, figure, found, lateral_alignment::from_wall};
use crate::plan::Operator;

const LENGTH: (&str, Operator) = ("length_closure_m", Operator::AtMost);
const SHARE: (&str, Operator) = ("length_closure_percent", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "length-closure",
    proves: "cure log, camera and field survey agree on the length of the segment",
    parameters: &[],
    limits: &[LENGTH, SHARE],
    evidence: &["segment", "cctv-survey", "field-survey", "run", "cure-log"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let Some(segment) = file.segment() else {
        j.missing("segment", "the segment's record", "file it");
        return j.outcome();
    };
    j.uses(segment);
    let registered = segment.length_wall_to_wall_m;
    j.fact("length_wall_to_wall_m", registered);
    match file.field_survey() {
        Some(survey) => {
            j.uses(survey);
            let both = [segment.record(), survey.record()];
            agree(
                &mut j,
                ("field survey", survey.length_wall_to_wall_m),
                registered,
                &both,
            );
        }
        None => j.missing(
            "field-survey",
            "the field survey",
            "measure the length and file it",
        ),
    }
    match file.last_post_survey() {
        Some(survey) => {
            j.uses(survey);
            let mut assumed = Vec::new();
            let radii = [
                segment.upstream_manhole_radius_m,
                segment.downstream_manhole_radius_m,
            ];
            let beyond: f64 = radii
                .map(|radius_m| from_wall((0.0, survey.datum()), radius_m, &mut assumed))
                .iter()
                .sum();
            let both = [segment.record(), survey.record()];
            agree(
                &mut j,
                ("survey after lining", survey.surveyed_length_m + beyond),
                registered,
                &both,
            );
            if survey.datum() == Datum::Assumed {
                let message = format!(
                    "survey {} states no datum: inside wall assumed",
                    survey.number()
                );
                j.note(found("datum-assumed", message).of(survey.record()));
            }
        }
        None => j.missing(
            "cctv-survey",
            "the survey after lining",
            "send the camera through and file it",
        ),
    }
    logged(&mut j, registered, segment.record());
    j.outcome()
}

fn agree(
    j: &mut Judgement<'_>,
    (what, length_m): (&str, f64),
    registered_m: f64,
    both: &[RecordRef],
) {
    let (limit_m, limit) = j.larger_of(LENGTH.0, SHARE.0, registered_m);
    j.fact(what, length_m);
    let difference = (length_m - registered_m).abs();
    if difference.is_nan() || limit_m.is_nan() || difference > limit_m + 1e-9 {
        let message = format!(
            "length by {what} is {} m, registered are {} m from wall to wall, the plan takes a \
             difference of {} m ({limit}): find out which is right and revise the other",
            figure(length_m),
            figure(registered_m),
            figure(limit_m)
        );
        let found = found("length-differs", message).of_all(both.iter().cloned());
        j.hold(
            found
                .fact("length_m", length_m)
                .fact("registered_m", registered_m),
        );
    }
}

fn logged(j: &mut Judgement<'_>, registered_m: f64, segment: RecordRef) {
    let mut logged_m = 0.0;
    let mut records = vec![segment];
    for run in j.runs() {
        for log in j.cure_logs(run) {
            logged_m += log
                .figures
                .as_ref()
                .map_or(0.0, |figures| figures.logged_length_m);
            records.push(log.record());
        }
    }
    let (limit_m, limit) = j.larger_of(LENGTH.0, SHARE.0, registered_m);
    j.fact("logged_length_m", logged_m);
    if logged_m.is_nan() || limit_m.is_nan() || logged_m < registered_m - limit_m {
        let message = format!(
            "the cure logs cover {} m, the segment is {} m long, the plan takes a difference of \
             {} m ({limit}): file the missing log",
            figure(logged_m),
            figure(registered_m),
            figure(limit_m)
        );
        j.hold(
            found("cure-log-too-short", message)
                .of_all(records)
                .fact("logged_length_m", logged_m),
        );
    }
}
