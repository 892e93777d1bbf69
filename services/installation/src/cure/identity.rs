//! Whether a log says that it is of this run.

use obvert_proto::{common::v1::Finding, counted, installation::v1::CureHeader};
use obvert_records::names::id_of;

use super::facts::RunFacts;

/// Findings on what the header names.
pub(super) fn findings(header: &CureHeader, facts: &RunFacts) -> Vec<Finding> {
    let mut found = Vec::new();
    found.extend(segments(header, facts));
    found.extend(manholes(header, facts));
    found.extend(liner(header, facts));
    let run_id = id_of(&facts.record.name);
    if !header.run_id.is_empty() && header.run_id != run_id {
        let message = format!(
            "The log says run {}, it is filed for {run_id}: check that the two are one.",
            header.run_id
        );
        found.push(Finding::note("run-id-differs", message, &[]));
    }
    if header.lamp_count > 0 && header.lamp_offsets_m.len() != header.lamp_count as usize {
        let message = format!(
            "The header has {} and {}: check the sheet of the light train.",
            counted(header.lamp_count, "lamp", "lamps"),
            counted(header.lamp_offsets_m.len(), "lamp offset", "lamp offsets")
        );
        found.push(Finding::holding("lamp-offsets-differ", message, &[]));
    }
    found
}

fn segments(header: &CureHeader, facts: &RunFacts) -> Option<Finding> {
    if header.segment_ids.is_empty() {
        let message = "The log names no segment: file the log with its segment ids.";
        return Some(Finding::holding(
            "segments-missing",
            message.to_owned(),
            &[],
        ));
    }
    let same = |name: &str, owners: &str| {
        header
            .segment_ids
            .iter()
            .any(|id| id == owners || id == id_of(name))
    };
    let every = facts
        .segments
        .iter()
        .all(|(name, s)| same(name, &s.owner_segment_id));
    let differs = !every || header.segment_ids.len() != facts.segments.len();
    differs.then(|| {
        let owners: Vec<_> = facts
            .segments
            .iter()
            .map(|(_, s)| s.owner_segment_id.as_str())
            .collect();
        let message = format!(
            "The log names segments {}, the run lines {}: check that it is the log of this run.",
            header.segment_ids.join(", "),
            owners.join(", ")
        );
        Finding::holding("segments-differ", message, &[])
    })
}

fn manholes(header: &CureHeader, facts: &RunFacts) -> Option<Finding> {
    let (logged, run) = (&header.manholes, &facts.run.manholes);
    if logged.is_empty() {
        let message = "The log names no manholes: file the log with the manholes passed.";
        return Some(Finding::holding(
            "manholes-missing",
            message.to_owned(),
            &[],
        ));
    }
    if logged == run {
        return None;
    }
    let (logged_text, run_text) = (logged.join(", "), run.join(", "));
    Some(if logged.iter().rev().eq(run) {
        let message = format!(
            "The log runs from {logged_text}, the run the other way, {run_text}: check the \
             direction of travel."
        );
        Finding::holding("manholes-reversed", message, &[])
    } else {
        let message = format!(
            "The log names manholes {logged_text}, the run {run_text}: check that it is the log \
             of this run."
        );
        Finding::holding("manholes-differ", message, &[])
    })
}

fn liner(header: &CureHeader, facts: &RunFacts) -> Option<Finding> {
    let logged = &header.liner_serial;
    if logged.is_empty() {
        let message = "The log names no liner: file the log with the liner's serial.";
        return Some(Finding::holding("liner-missing", message.to_owned(), &[]));
    }
    let serial = facts
        .liner
        .as_ref()
        .map_or("", |liner| liner.serial.as_str());
    let read = &facts.run.serial_at_pull_in;
    (logged != serial || logged != read).then(|| {
        let message = format!(
            "The log names liner {logged}, the run's liner has serial {serial} and {read} was \
             read at pull-in: check which liner it was."
        );
        Finding::holding("liner-differs", message, &[])
    })
}
