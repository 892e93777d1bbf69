//! Whether the plan asks a point of this segment, where it samples segments.
//!
//! The turn of a segment is its place in the [`LiningOrder`](crate::LiningOrder). Not being sampled
//! never hides anything: the point is judged first, and only when nothing but missing evidence holds
//! it does it not apply. What cannot be told, such as the turn of a segment that is not lined yet,
//! counts as sampled.

use std::collections::BTreeSet;

use obvert_proto::{closeout::v1::Verdict, installation::v1::Run};
use obvert_records::names::id_of;

use crate::{
    hold_points::{Judging, Outcome},
    plan::Sampling,
    segment_file::Kept,
};

/// Segments sampled one by one before sampling begins, and the stretch of which one is sampled then:
/// the words of [`Sampling::FirstThreeThenOneInFive`] in figures.
const FIRST_THEN_ONE_IN: (usize, usize) = (3, 5);

/// The outcome of a point, or that it does not apply because other segments are sampled.
pub(crate) fn sampled(judging: &Judging<'_>, outcome: Outcome) -> Outcome {
    let mut holding = outcome.findings.iter().filter(|finding| finding.holds);
    let only_missing = holding.all(|finding| finding.code.starts_with("missing-"));
    if outcome.verdict != Verdict::Held || !only_missing {
        return outcome;
    }
    let beside = match judging.point.sampling {
        Sampling::EverySegment => None,
        Sampling::FirstThreeThenOneInFive => by_turn(judging),
        Sampling::OnePerBatch => by_batch(judging),
    };
    let Some(Beside { runs, fact, reason }) = beside else {
        return outcome;
    };
    let mut j = judging.start();
    for run in runs {
        j.uses(run);
    }
    j.fact("sampling", fact);
    j.not_applicable(reason)
}

/// Why a point is not asked of the segment, by the runs that say so.
struct Beside<'a> {
    runs: Vec<&'a Kept<Run>>,
    /// What the verdict rests on, by the records' ids.
    fact: String,
    /// The same for people.
    reason: String,
}

fn by_turn<'a>(judging: &Judging<'a>) -> Option<Beside<'a>> {
    let file = judging.file;
    let run = file
        .lining_runs()
        .into_iter()
        .min_by_key(|run| run.create_revision)?;
    let turn = file.lining_turn?;
    let (first, one_in) = FIRST_THEN_ONE_IN;
    if turn <= first || (turn - first).is_multiple_of(one_in) {
        return None;
    }
    let next = first + (turn - first).div_ceil(one_in) * one_in;
    let reason = format!(
        "segment {turn} in the order of lining; the plan asks for the first {first} and then one in \
         {one_in}, next for segment {next}"
    );
    Some(Beside {
        runs: vec![run],
        fact: reason.clone(),
        reason,
    })
}

fn by_batch<'a>(judging: &Judging<'a>) -> Option<Beside<'a>> {
    let file = judging.file;
    let liners = file.liner_names_in_force();
    let own = file
        .certificates
        .iter()
        .filter(|c| liners.contains(&c.liner));
    let batches: BTreeSet<&str> = own
        .flat_map(|certificate| certificate.batches.iter().map(String::as_str))
        .collect();
    let mut firsts = Vec::new();
    let (mut facts, mut said) = (Vec::new(), Vec::new());
    let sampled = |batch: &str, segment: &str, run: &str| {
        format!("batch {batch} is sampled at segment {segment}, run {run}")
    };
    for batch in &batches {
        let first = first_of_batch(judging, batch)?;
        let segment = first.segments.first()?;
        if *segment == file.name {
            return None;
        }
        facts.push(sampled(id_of(batch), id_of(segment), first.id()));
        let numbers = [batch, segment.as_str()].map(|name| file.number_of(name));
        said.push(sampled(&numbers[0], &numbers[1], &first.number()));
        firsts.push(first);
    }
    (!said.is_empty()).then(|| Beside {
        runs: firsts,
        fact: facts.join("; "),
        reason: said.join("; "),
    })
}

/// Run that was filed first with a liner of a batch.
fn first_of_batch<'a>(judging: &Judging<'a>, batch: &str) -> Option<&'a Kept<Run>> {
    let file = judging.file;
    let made_of_it = |run: &&Kept<Run>| {
        let mut of_liner = file.certificates.iter().filter(|c| c.liner == run.liner);
        of_liner.any(|certificate| certificate.batches.iter().any(|b| b == batch))
    };
    let runs = file.runs.iter().chain(&file.other_runs);
    runs.filter(made_of_it)
        .min_by_key(|run| run.create_revision)
}
