//! Two packages beside each other.

use clap::ArgMatches;
use obvert_proto::{counted, rules};
use serde_json::{Value, json};

use super::file;
use crate::{
    Exit, Failure,
    diff::{Difference, PointChange, RecordChange},
    output::Output,
    verify::{self, Verified},
};

pub(crate) fn run(given: &ArgMatches, output: Output) -> Result<(), Failure> {
    let (older, before) = verify::open(file(given, "older")?)?;
    let (newer, after) = verify::open(file(given, "newer")?)?;
    if older.segment != newer.segment {
        let message = format!(
            "the packages show two segments, {} and {}: compare packages of one",
            older.segment, newer.segment
        );
        return Err(Failure::new(Exit::Usage, message));
    }
    let difference = Difference::between(&before, &after)?;
    if output.is_json() {
        output.json(&json!({ "older": older, "newer": newer, "difference": difference }))?;
    } else {
        show(&older, &newer, &difference, output)?;
    }
    if difference.is_empty() {
        return Ok(());
    }
    let parts = [
        (difference.records.len(), "record", "records"),
        (difference.points.len(), "point", "points"),
        (difference.files.len(), "file", "files"),
    ];
    let parts = parts.into_iter().filter(|(count, ..)| *count > 0);
    let parts: Vec<_> = parts
        .map(|(count, one, many)| counted(count, one, many))
        .collect();
    let message = format!("these differ: {}", parts.join(", "));
    Err(Failure::new(Exit::Failure, message))
}

fn show(
    older: &Verified,
    newer: &Verified,
    difference: &Difference,
    output: Output,
) -> Result<(), Failure> {
    output.say(&format!(
        "{}: revision {} against {}",
        newer.owner_segment_id, older.revision, newer.revision
    ))?;
    if difference.is_empty() {
        return output.say("nothing differs but the revision");
    }
    let records: Vec<_> = difference.records.iter().flat_map(record_rows).collect();
    part(output, &["record", "", "was", "is"], &records)?;
    let points: Vec<_> = difference.points.iter().map(point_row).collect();
    part(output, &["point", "", "was", "is"], &points)?;
    let files = difference.files.iter();
    let files: Vec<_> = files
        .map(|file| vec![file.path.clone(), file.standing.word().to_owned()])
        .collect();
    part(output, &["file", ""], &files)
}

fn part(output: Output, head: &[&str], rows: &[Vec<String>]) -> Result<(), Failure> {
    if rows.is_empty() {
        return Ok(());
    }
    output.say("")?;
    output.table(head, rows)
}

/// The record, then its fields.
fn record_rows(change: &RecordChange) -> Vec<Vec<String>> {
    let at = |revision: Option<u64>| revision.map_or(String::new(), |r| format!("@{r}"));
    let mut rows = vec![vec![
        change.name.clone(),
        change.standing.word().to_owned(),
        at(change.old_revision),
        at(change.new_revision),
    ]];
    if !change.reason.is_empty() {
        let why = format!("  {}, {}", change.principal, change.reason);
        rows.push(vec![why]);
    }
    rows.extend(change.fields.iter().map(|field| {
        let words = rules::field_words(&change.type_name, &field.field);
        vec![
            format!("  {}", words.label),
            String::new(),
            word(field.old.as_ref(), words.unit),
            word(field.new.as_ref(), words.unit),
        ]
    }));
    rows
}

fn point_row(change: &PointChange) -> Vec<String> {
    let state = |state: &Option<String>| state.clone().unwrap_or_else(|| "not in the plan".into());
    let facts = if change.facts { "other facts" } else { "" };
    vec![
        change.point.clone(),
        facts.to_owned(),
        state(&change.old),
        state(&change.new),
    ]
}

fn word(value: Option<&Value>, unit: &str) -> String {
    match value {
        None => "nothing".to_owned(),
        Some(Value::String(text)) => text.clone(),
        Some(Value::Number(number)) if !unit.is_empty() => format!("{number} {unit}"),
        Some(value) => value.to_string(),
    }
}
