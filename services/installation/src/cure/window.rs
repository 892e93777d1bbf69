//! Whether a log's lamps burned when the run says so. All clocks are taken back to the reference
//! clock by their noted offsets.

use obvert_proto::{
    common::v1::Finding,
    dates::{from_unix_ms, instant, unix_ms},
    installation::v1::{RunStep, StepKind},
};

use super::facts::RunFacts;

/// What the noted cure and the log may differ by at either end. Own proposal.
const CURE_STEP_TOLERANCE_MS: i64 = 300_000;

/// Findings on the time from the first lamp on to the last one off.
pub(super) fn findings(facts: &RunFacts, lit_ms: Option<(i64, i64)>) -> Vec<Finding> {
    let Some((first, last)) = lit_ms else {
        return Vec::new();
    };
    let step = |kind: StepKind| facts.run.steps.iter().find(|step| step.step() == kind);
    let mut found = Vec::new();
    let mut outside = |code: &str, what: &str, at: i64, limit: i64, word: &str| {
        let message = format!(
            "The {what} at {}, which is {word} at {}: check clocks and whether it is the log of \
             this run.",
            shown(at),
            shown(limit)
        );
        let apart = [("seconds_apart", (at - limit) as f64 / 1000.0)];
        found.push(Finding::holding(code, message, &apart));
    };
    if let Some((_, end)) = step(StepKind::PullIn).and_then(range)
        && first < end
    {
        outside(
            "lamps-before-pull-in",
            "first lamp burned",
            first,
            end,
            "before the pull-in ended",
        );
    }
    if let Some((start, _)) = step(StepKind::Reopening).and_then(range)
        && last > start
    {
        let word = "after the reopening began";
        outside(
            "lamps-after-reopening",
            "last lamp burned",
            last,
            start,
            word,
        );
    }
    match step(StepKind::Cure).and_then(range) {
        Some((start, _)) if first < start - CURE_STEP_TOLERANCE_MS => {
            outside(
                "lamps-before-cure-step",
                "first lamp burned",
                first,
                start,
                "before the cure",
            );
        }
        Some((_, end)) if last > end + CURE_STEP_TOLERANCE_MS => {
            outside(
                "lamps-after-cure-step",
                "last lamp burned",
                last,
                end,
                "after the cure",
            );
        }
        Some(_) => {}
        None => {
            let message = "The run has no cure step to hold the log's time against: add it.";
            found.push(Finding::holding(
                "cure-step-missing",
                message.to_owned(),
                &[],
            ));
        }
    }
    found
}

/// Start and end of a step by the reference clock.
fn range(step: &RunStep) -> Option<(i64, i64)> {
    let offset_ms = (step.clock_offset_s * 1000.0) as i64;
    let (start, end) = (step.start_time.as_ref()?, step.end_time.as_ref()?);
    Some((unix_ms(start) - offset_ms, unix_ms(end) - offset_ms))
}

fn shown(ms: i64) -> String {
    instant(&from_unix_ms(ms)).map_or_else(|| format!("{ms} ms"), |time| time.to_string())
}
