//! A run: its steps, its chain of manholes and its outcome.

use obvert_proto::{
    Violation,
    dates::unix_ms,
    installation::v1::{Run, RunOutcome, RunStep, StepKind},
};

use super::repeated;

/// Steps that cannot be taken back, so that a run has each at most once.
const IRREVERSIBLE: [(StepKind, &str); 3] = [
    (StepKind::PullIn, "pull-in"),
    (StepKind::Cure, "cure"),
    (StepKind::Reopening, "reopening"),
];

pub(super) fn check(run: &Run) -> Vec<Violation> {
    let mut wrong = repeated(run.segments.iter().map(String::as_str), |i| {
        format!("segments[{i}]")
    });
    wrong.extend(
        run.steps
            .iter()
            .enumerate()
            .filter_map(|(index, step)| backwards(index, step)),
    );
    for (kind, word) in IRREVERSIBLE {
        let of_kind = run
            .steps
            .iter()
            .enumerate()
            .filter(|(_, step)| step.step() == kind);
        for (index, _) in of_kind.skip(1) {
            let message = format!("is a second {word}: a run has one; write another run");
            wrong.push(Violation::new(format!("steps[{index}].step"), message));
        }
    }
    wrong.extend(outcome(run));
    let (manholes, segments) = (run.manholes.len(), run.segments.len());
    if manholes >= 2 && segments >= 1 && manholes != segments + 1 {
        let message = format!(
            "has {manholes} manholes for {segments} segments, {} are wanted: name every manhole \
             passed, both ends included",
            segments + 1
        );
        wrong.push(Violation::new("manholes", message));
    }
    wrong
}

/// Start and end of a step are read from one clock, so its offset cancels.
fn backwards(index: usize, step: &RunStep) -> Option<Violation> {
    let (start, end) = (step.start_time.as_ref()?, step.end_time.as_ref()?);
    let seconds = (unix_ms(end) - unix_ms(start)) as f64 / 1000.0;
    (seconds < 0.0).then(|| {
        let message = format!(
            "lies {} s before start_time: correct one of the two",
            -seconds
        );
        Violation::new(format!("steps[{index}].end_time"), message)
    })
}

/// What an outcome says of the lamps, against the steps.
fn outcome(run: &Run) -> Option<Violation> {
    let lit = run.steps.iter().any(|step| step.step() == StepKind::Cure);
    let message = match (run.outcome(), lit) {
        (RunOutcome::PulledIn | RunOutcome::AbortedBeforeLights, true) => {
            "says that no lamp was lit, and steps list a cure: correct one of the two"
        }
        (RunOutcome::Complete | RunOutcome::Partial | RunOutcome::AbortedAfterLights, false) => {
            "says that lamps were lit, and steps list no cure: add the step"
        }
        _ => return None,
    };
    Some(Violation::new("outcome", message))
}
