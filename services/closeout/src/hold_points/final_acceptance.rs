//! # Holds
//! Acceptance of the segment, while any point before it holds.
//! # Why
//! A package without one of its papers looks complete until somebody needs that paper.
//! # Released when
//! Every point it waits for is released, shown as a variance, or does not apply. What it rests on
//! are the facts of all of them, so a change in any opens it again. A record that a revision moved off
//! the segment holds until a closed nonconformance about the segment names that record.
//! # Evidence
//! Segment, the points before, and records that were moved off the segment.
//! # Parameters
//! None.
//! # Source
//! Own rule.

use obvert_proto::closeout::v1::PointState;

use super::{Evaluator, Judging, Outcome, found};
use crate::moved;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "final-acceptance",
    proves: "every point before it is past",
    parameters: &[],
    limits: &[],
    evidence: &["segment"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    match judging.file.segment() {
        Some(segment) => j.uses(segment),
        None => j.missing("segment", "the segment's record", "file it"),
    }
    for moved in moved::open(judging.file) {
        j.hold(moved);
    }
    for id in &judging.point.after {
        let Some(status) = judging.before.iter().find(|status| status.point == *id) else {
            j.missing("point", &format!("the point {id}"), "correct the plan");
            continue;
        };
        let hex = status
            .facts_digest
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect::<String>();
        j.fact(format!("{id}.state"), status.state().as_str_name());
        j.fact(format!("{id}.facts"), hex);
        if status.state() == PointState::Variance {
            let message = format!(
                "point {id} ({}) is past by a variance: {}",
                status.title, status.reason
            );
            j.note(found("accepted-with-variance", message).fact("point", id));
        }
    }
    if judging.point.after.is_empty() {
        let message = format!(
            "point {} waits for no point: name those it rests on in after",
            judging.point.id
        );
        j.hold(found("acceptance-of-nothing", message));
    }
    j.outcome()
}
