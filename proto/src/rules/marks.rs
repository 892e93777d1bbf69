//! Fields that the schema marks: who took part, and when the work was done.

use std::{collections::HashSet, sync::LazyLock};

use jiff::{Timestamp, civil::Date};
use prost::Message as _;
use prost_reflect::{DynamicMessage, MessageDescriptor, ReflectMessage, Value};
use prost_types::Timestamp as SchemaTime;

use super::{rule, walk};
use crate::{common::v1::LocalDate, dates::instant, pool};

/// When something was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WorkTime {
    /// At an instant.
    At(Timestamp),
    /// On a day of the project's calendar.
    On(Date),
}

/// Whether records of a message type say who took part.
pub fn people_fields(type_name: &str) -> bool {
    static TYPES: LazyLock<HashSet<String>> = LazyLock::new(|| {
        let named = pool().all_messages().filter(|message| says_who(message, 0));
        named
            .map(|message| message.full_name().to_owned())
            .collect()
    });
    TYPES.contains(type_name)
}

/// Clears every field that says who took part, nested messages included.
pub fn without_people(message: &mut DynamicMessage) {
    for field in message.descriptor().fields() {
        if rule(&field).person {
            message.clear_field(&field);
            continue;
        }
        if !message.has_field(&field) {
            continue;
        }
        match message.get_field_mut(&field) {
            Value::Message(inner) => without_people(inner),
            Value::List(items) => items.iter_mut().for_each(|item| {
                if let Value::Message(inner) = item {
                    without_people(inner);
                }
            }),
            _ => {}
        }
    }
}

/// Writes `words` in place of every text that says who took part; returns the paths of these fields,
/// as ProtoJSON spells them.
pub fn people_replaced(message: &mut DynamicMessage, words: &str) -> Vec<String> {
    let mut paths = Vec::new();
    replace(message, "", words, &mut paths);
    paths
}

fn replace(message: &mut DynamicMessage, above: &str, words: &str, paths: &mut Vec<String>) {
    for field in message.descriptor().fields() {
        if !message.has_field(&field) {
            continue;
        }
        let path = format!("{above}{}", field.json_name());
        if rule(&field).person {
            message.set_field(&field, Value::String(words.to_owned()));
            paths.push(path);
            continue;
        }
        match message.get_field_mut(&field) {
            Value::Message(inner) => replace(inner, &format!("{path}."), words, paths),
            Value::List(items) => {
                for (place, item) in items.iter_mut().enumerate() {
                    if let Value::Message(inner) = item {
                        replace(inner, &format!("{path}[{place}]."), words, paths);
                    }
                }
            }
            _ => {}
        }
    }
}

/// Every time at which the work of a record was done, with the path of its field.
pub fn work_times(message: &DynamicMessage) -> Vec<(String, WorkTime)> {
    let mut found = Vec::new();
    walk(message, "", &mut |field, path, value| {
        let Some(Value::Message(value)) = value.filter(|_| rule(field).work_time) else {
            return;
        };
        let bytes = value.encode_to_vec();
        let time = match value.descriptor().name() {
            "LocalDate" => LocalDate::decode(bytes.as_slice())
                .ok()
                .and_then(|date| date.to_civil())
                .map(WorkTime::On),
            _ => SchemaTime::decode(bytes.as_slice())
                .ok()
                .and_then(|time| instant(&time))
                .map(WorkTime::At),
        };
        found.extend(time.map(|time| (path.to_owned(), time)));
    });
    found
}

/// Whether a message or one within it has such a field; messages nest less deep than 8.
fn says_who(message: &MessageDescriptor, depth: usize) -> bool {
    message.fields().any(|field| {
        let inner = || {
            field
                .kind()
                .as_message()
                .is_some_and(|m| says_who(m, depth + 1))
        };
        rule(&field).person || (depth < 8 && inner())
    })
}
