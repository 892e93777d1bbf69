//! Two packages beside each other.

use clap::ArgMatches;
use obvert_proto::{counted, rules};
use serde_json::{Value, json};

use super::file;
use crate::{
    Exit, Failure,
    diff::{Difference, LabelChange, PointChange, RecordChange},
    output::Output,
    verify::{self, Verified},
};

pub(crate) fn run(given: &ArgMatches, output: Output) -> Result<(), Failure> {
    let before = verify::open(file(given, "older")?)?;
    let after = verify::open(file(given, "newer")?)?;
    let (older, newer) = (&before.0, &after.0);
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
        show(older, newer, &difference, output)?;
    }
    if difference.is_empty() {
        return Ok(());
    }
    let labels = difference.labels.iter();
    let labels = labels.map(|change| format!("the {}", change.label));
    let parts = [
        (difference.records.len(), "record", "records"),
        (difference.points.len(), "point", "points"),
        (difference.files.len(), "file", "files"),
    ];
    let parts = parts.into_iter().filter(|(count, ..)| *count > 0);
    let parts = parts.map(|(count, one, many)| counted(count, one, many));
    let parts: Vec<_> = labels.chain(parts).collect();
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
        let same = older.revision == newer.revision;
        return output.say(match same {
            true => "nothing differs",
            false => "nothing differs but the revision",
        });
    }
    for change in &difference.labels {
        output.say(&label_words(change))?;
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

/// What another signer or history means, and both values one above the other.
fn label_words(change: &LabelChange) -> String {
    let what = match change.label {
        "signer" => "two keys signed them: ask the server's operator whether both are its own",
        _ => "they show one revision of two histories: ask for 'obvertd audit verify' of the store",
    };
    format!("\n{what}\n  was  {}\n  is   {}", change.old, change.new)
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
    let facts = match (&change.old, &change.new) {
        (None, _) => "added",
        (_, None) => "gone",
        _ if change.facts => "other facts",
        _ => "",
    };
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
