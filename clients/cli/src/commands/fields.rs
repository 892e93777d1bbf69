//! What a record of one kind holds, read from the schema: for whoever writes its JSON or its
//! column map.

use obvert_proto::{
    comment,
    rules::{self, Rule},
};
use prost_reflect::{FieldDescriptor, Kind, MessageDescriptor};
use serde_json::{Value, json};

use crate::{Failure, nouns::Noun, output::Output};

/// Messages that JSON writes as one text.
const TIME: &str = "google.protobuf.Timestamp";
/// A calendar date, which people read as one value.
const DATE: &str = "obvert.common.v1.LocalDate";

/// One field, with its path from the record.
struct Row {
    path: String,
    field: FieldDescriptor,
}

/// Lists the fields of a kind: a table for people, an array for programs.
pub(super) fn run(noun: &Noun, output: Output) -> Result<(), Failure> {
    let mut rows = Vec::new();
    gather(&noun.message, "", &mut rows);
    if output.is_json() {
        return output.json(&rows.iter().map(described).collect::<Vec<_>>());
    }
    output.say(&format!("{}.", noun.about()))?;
    output
        .say("Marks: * must be given; [] any number of them; (server) written by the server.\n")?;
    let mut shown = Vec::new();
    for row in &rows {
        shown.push(cells(row));
        shown.extend(words(&row.field).into_iter().map(|(word, about)| {
            vec![
                String::new(),
                format!("  {word}"),
                String::new(),
                about.to_owned(),
            ]
        }));
    }
    output.table(&["field", "value", "range", "what"], &shown)
}

fn gather(message: &MessageDescriptor, prefix: &str, rows: &mut Vec<Row>) {
    for field in message.fields() {
        let path = format!("{prefix}{}", field.name());
        let inner = group(&field);
        let below = format!("{path}{}.", if field.is_list() { "[]" } else { "" });
        rows.push(Row { path, field });
        if let Some(inner) = inner {
            gather(&inner, &below, rows);
        }
    }
}

/// Message of a field that is a group of fields.
fn group(field: &FieldDescriptor) -> Option<MessageDescriptor> {
    let message = field.kind().as_message().cloned()?;
    let whole = field.is_map() || [TIME, DATE].contains(&message.full_name());
    (!whole).then_some(message)
}

fn cells(row: &Row) -> Vec<String> {
    let rule = rules::rule(&row.field);
    let mark = if row.field.is_list() { "[]" } else { "" };
    let need = match (rule.output_only, rule.required) {
        (true, _) => " (server)",
        (false, true) => " *",
        (false, false) => "",
    };
    vec![
        format!("{}{mark}{need}", row.path),
        value(&row.field, rule),
        range(&row.field, rule),
        about(&row.field).to_owned(),
    ]
}

/// What to write, in words.
fn value(field: &FieldDescriptor, rule: &Rule) -> String {
    if let Some(collection) = &rule.refers {
        let any = collection == "*";
        return if any {
            "name of a record".into()
        } else {
            format!("name in {collection}")
        };
    }
    let unit = rules::unit(field.name());
    match field.kind() {
        Kind::String => format!("text, to {} characters", rule.max_length),
        Kind::Bool => "true or false".into(),
        Kind::Enum(_) => "one of".into(),
        Kind::Bytes => "bytes in base64".into(),
        Kind::Message(message) if message.full_name() == TIME => "time".into(),
        Kind::Message(message) if message.full_name() == DATE => "year, month, day".into(),
        Kind::Message(_) if field.is_map() => "words and values".into(),
        Kind::Message(_) => "group".into(),
        _ if unit.is_empty() => "number".into(),
        _ => unit.into(),
    }
}

fn range(field: &FieldDescriptor, rule: &Rule) -> String {
    let least = match rule.min_items {
        0 => String::new(),
        count => format!("at least {count}"),
    };
    match (rule.min, rule.max) {
        _ if field.is_list() && !least.is_empty() => least,
        (Some(min), Some(max)) => format!("{min} to {max}"),
        (Some(min), None) => format!(">= {min}"),
        (None, Some(max)) => format!("<= {max}"),
        (None, None) => String::new(),
    }
}

fn about(field: &FieldDescriptor) -> &'static str {
    comment(&field.parent_message().parent_file(), field.path())
}

/// Words that a field takes, each with what it means; the word for "not said" left out.
fn words(field: &FieldDescriptor) -> Vec<(String, &'static str)> {
    let kind = field.kind();
    let Some(list) = kind.as_enum() else {
        return Vec::new();
    };
    let file = list.parent_file();
    let taken = list.values().filter(|value| value.number() != 0);
    taken
        .map(|value| (value.name().to_owned(), comment(&file, value.path())))
        .collect()
}

fn described(row: &Row) -> Value {
    let rule = rules::rule(&row.field);
    let taken: Vec<_> = words(&row.field)
        .into_iter()
        .map(|(word, about)| json!({"word": word, "about": about}))
        .collect();
    json!({
        "field": row.path,
        "value": value(&row.field, rule),
        "repeated": row.field.is_list(),
        "required": rule.required,
        "server_only": rule.output_only,
        "unit": rules::unit(row.field.name()),
        "min": rule.min,
        "max": rule.max,
        "min_items": rule.min_items,
        "refers": rule.refers,
        "words": taken,
        "about": about(&row.field),
    })
}
