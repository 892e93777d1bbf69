//! A run runs from manhole to manhole, and installs its liner once.

use obvert_proto::{
    Problem, Violation,
    installation::v1::{Run, RunOutcome},
    project::v1::Segment,
};
use obvert_records::{Named, names::id_of};

/// Claims of a run whose segments form a chain.
///
/// # Errors
///
/// Every pair of manholes that is not the pair of its segment.
pub(super) fn judge(run: &Run, named: &Named) -> Result<Vec<String>, Problem> {
    let wrong: Vec<_> = run
        .segments
        .iter()
        .zip(run.manholes.windows(2))
        .enumerate()
        .filter_map(|(index, (name, pair))| {
            let segment = named.get::<Segment>(name)?;
            broken(index, name, [&pair[0], &pair[1]], &segment)
        })
        .collect();
    if !wrong.is_empty() {
        return Err(Problem::fields(wrong));
    }
    // A liner given up before the lamps were lit is free again, so it is not claimed.
    Ok(match run.outcome() {
        RunOutcome::AbortedBeforeLights => Vec::new(),
        _ => vec![format!("installed-liner/{}", id_of(&run.liner))],
    })
}

fn broken(index: usize, name: &str, pair: [&String; 2], segment: &Segment) -> Option<Violation> {
    let (up, down) = (&segment.upstream_manhole, &segment.downstream_manhole);
    let [from, to] = pair;
    let joined = [from, to] == [up, down] || [from, to] == [down, up];
    (!joined).then(|| {
        let message = format!(
            "runs from {from} to {to}, segment {} joins {up} and {down}: correct the manholes or \
             the order of segments",
            id_of(name)
        );
        Violation::new(format!("run.manholes[{index}]"), message)
    })
}
