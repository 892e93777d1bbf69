//! # Holds
//! The step that a deviation forbids, and acceptance while any deviation is open.
//! # Why
//! A deviation settled by word of mouth is a dispute.
//! # Released when
//! Every nonconformance about the segment, or about a record of it, is closed with a disposition,
//! its decider, its reason, and, for a repair or a new liner, the records that show it was done.
//! For a point of one step only those count that hold that step or an earlier one; without a step
//! of its own one holds the next step that cannot be undone, as the work stood when it was found,
//! and acceptance only when none was left. One that the ledger lists and nobody can read holds every
//! step. A record that a revision moved off the segment holds acceptance until a closed nonconformance
//! names both.
//! # Evidence
//! Segment, nonconformances, run.
//! # Parameters
//! `step`: step before which this point stands; acceptance when left out.
//! # Source
//! Own rule.

use obvert_proto::{
    acceptance::v1::{Disposition, Nonconformance},
    installation::v1::StepKind,
};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind, found,
    step_order::{STEP_WORDS, STEPS},
    words::ms,
};
use crate::moved;
use crate::segment_file::{Kept, SegmentFile, step_start_ms};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "nonconformances-closed",
    proves: "every deviation that matters here is decided, done and closed",
    parameters: &[ParameterKind::text(
        "step",
        STEP_WORDS,
        "step before which the point stands",
    )],
    limits: &[],
    evidence: &["segment", "nonconformance", "run"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    match judging.file.segment() {
        Some(segment) => j.uses(segment),
        None => j.missing("segment", "the segment's record", "file it"),
    }
    for lost in &judging.file.lost_nonconformances {
        let number = obvert_records::names::number_of(lost);
        let what = format!("nonconformance {number}, which the ledger lists for this segment,");
        j.missing("nonconformance", &what, "restore the store from a backup");
    }
    let step = judging.text("step").and_then(place);
    if step.is_none() {
        for moved in moved::open(judging.file) {
            j.hold(moved);
        }
    }
    for nonconformance in &judging.file.nonconformances {
        // A step that this list does not know holds everything.
        let holds_from = match nonconformance.holds_from_step.as_str() {
            "" => next_step(judging.file, nonconformance),
            word => place(word).unwrap_or(0),
        };
        if step.is_none_or(|step| holds_from <= step) {
            closed(&mut j, nonconformance);
        }
    }
    j.outcome()
}

fn place(word: &str) -> Option<usize> {
    STEPS.iter().position(|(known, _)| *known == word)
}

/// Steps that cannot be undone, in the order of the work; release to the crew comes before them and
/// is refused by the store itself.
const IRREVERSIBLE: &[StepKind] = &[StepKind::PullIn, StepKind::Cure, StepKind::Reopening];

/// First such step that had not begun when the deviation was found; acceptance when all had.
fn next_step(file: &SegmentFile, found: &Nonconformance) -> usize {
    let found_ms = ms(found.found_time.as_ref()).unwrap_or(i64::MIN);
    let runs = file.lining_runs();
    let begun = |kind: StepKind| {
        let mut starts = runs.iter().filter_map(|run| step_start_ms(run, kind));
        starts.any(|start| start <= found_ms)
    };
    let next = IRREVERSIBLE.iter().find(|kind| !begun(**kind));
    let place = next.and_then(|next| STEPS.iter().position(|(_, kind)| kind == next));
    place.unwrap_or(STEPS.len())
}

fn closed(j: &mut Judgement<'_>, nonconformance: &Kept<Nonconformance>) {
    j.uses(nonconformance);
    let (id, number) = (nonconformance.id(), nonconformance.number());
    let disposition = nonconformance.disposition();
    j.fact(format!("{id}.disposition"), disposition.as_str_name());
    let mut hold = |code: &str, message: String| {
        let found = found(code, message).of(nonconformance.record());
        j.hold(found.fact("nonconformance", id));
    };
    let Some(closed) = ms(nonconformance.close_time.as_ref()) else {
        let message = format!(
            "nonconformance {number} is open ({}): decide, do and close it",
            nonconformance.description
        );
        hold("nonconformance-open", message);
        return;
    };
    let decided = ms(nonconformance.disposed_time.as_ref());
    let found_ms = ms(nonconformance.found_time.as_ref());
    if disposition == Disposition::Unspecified
        || nonconformance.disposed_by.trim().is_empty()
        || nonconformance.justification.trim().is_empty()
        || decided.is_none()
    {
        let message = format!(
            "nonconformance {number} is closed without disposition, decider, time or reason: revise \
             it with all four"
        );
        hold("nonconformance-not-decided", message);
    }
    if decided
        .is_some_and(|decided| decided > closed || found_ms.is_some_and(|found| found > decided))
    {
        let message = format!(
            "nonconformance {number} was found, decided and closed in another order: correct the times"
        );
        hold("nonconformance-times", message);
    }
    let done = [
        Disposition::Repair,
        Disposition::Reline,
        Disposition::Replace,
    ];
    if done.contains(&disposition) && nonconformance.retest_records.is_empty() {
        let message = format!(
            "nonconformance {number} names no record that shows its repair was done: add the survey \
             or test"
        );
        hold("nonconformance-without-retest", message);
    }
    j.fact(format!("{id}.closed_ms"), closed);
}
