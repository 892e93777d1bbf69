//! A lateral's outcome belongs to a run through its segment, and each run settles it once.

use obvert_proto::{
    Problem, Violation,
    installation::v1::{LateralOutcome, Run},
    project::v1::Lateral,
};
use obvert_records::{Named, names::id_of};

/// Claim of an outcome.
///
/// # Errors
///
/// The lateral enters a segment that the run does not line.
pub(super) fn judge(outcome: &LateralOutcome, named: &Named) -> Result<String, Problem> {
    let lateral = named.get::<Lateral>(&outcome.lateral).unwrap_or_default();
    let run = named.get::<Run>(&outcome.run).unwrap_or_default();
    if !run.segments.contains(&lateral.segment) {
        let message = format!(
            "enters segment {}, which run {} does not line: name the run that closed it",
            id_of(&lateral.segment),
            id_of(&outcome.run)
        );
        return Err(Problem::fields(vec![Violation::new(
            "lateral_outcome.lateral",
            message,
        )]));
    }
    Ok(format!(
        "lateral-outcome/{}/{}",
        id_of(&outcome.lateral),
        id_of(&outcome.run)
    ))
}
