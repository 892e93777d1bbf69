//! One field held against its rule, and the sentence that says what is wrong.

use prost_reflect::{DynamicMessage, FieldDescriptor, Kind as FieldKind, ReflectMessage, Value};

use super::{Rule, rule, unit};
use crate::{Violation, common::v1::LocalDate};

/// Adds what is wrong with one field of a message.
pub(super) fn check_field(
    field: &FieldDescriptor,
    path: &str,
    value: Option<&Value>,
    found: &mut Vec<Violation>,
) {
    let rule = rule(field);
    let Some(value) = value else {
        if rule.required {
            found.push(Violation::new(path, missing(field, rule)));
        }
        return;
    };
    if rule.output_only {
        found.push(Violation::new(
            path,
            "is written by the server only: leave it out",
        ));
        return;
    }
    match value {
        Value::List(items) => {
            if items.len() < rule.min_items {
                let least = rule.min_items;
                let message = format!("has {} elements, at least {least} are needed", items.len());
                found.push(Violation::new(path, message));
            }
            for (i, item) in items.iter().enumerate() {
                check_value(field, rule, &format!("{path}[{i}]"), item, found);
            }
        }
        value => check_value(field, rule, path, value, found),
    }
}

fn check_value(
    field: &FieldDescriptor,
    rule: &Rule,
    path: &str,
    value: &Value,
    found: &mut Vec<Violation>,
) {
    let number = match value {
        Value::F64(v) => Some(*v),
        Value::I32(v) => Some(f64::from(*v)),
        Value::I64(v) => Some(*v as f64),
        Value::String(text) => {
            check_text(rule, path, text, found);
            None
        }
        Value::EnumNumber(number) => {
            check_enum(field, rule, path, *number, found);
            None
        }
        Value::Message(message) => {
            check_date(path, message, found);
            None
        }
        _ => None,
    };
    if let Some(number) = number {
        check_number(field, rule, path, number, found);
    }
}

fn check_number(
    field: &FieldDescriptor,
    rule: &Rule,
    path: &str,
    number: f64,
    found: &mut Vec<Violation>,
) {
    let unit = unit(field.name());
    if !number.is_finite() {
        found.push(Violation::new(
            path,
            format!("is {number}: give a number in {unit}"),
        ));
        return;
    }
    let (below, above) = (
        rule.min.is_some_and(|m| number < m),
        rule.max.is_some_and(|m| number > m),
    );
    if below || above {
        let value = format!("{number} {unit}");
        let (value, range) = (value.trim_end(), range(rule, unit));
        let message = format!("is {value}, allowed is {range}: check value and unit");
        found.push(Violation::new(path, message));
    }
}

/// Whether a text holds control characters beside line ends and tabs, which a terminal would obey.
pub fn has_control(text: &str) -> bool {
    let control = |c: char| c.is_control() && !matches!(c, '\n' | '\t' | '\r');
    text.chars().any(control)
}

fn check_text(rule: &Rule, path: &str, text: &str, found: &mut Vec<Violation>) {
    let length = text.chars().count();
    if length > rule.max_length {
        let most = rule.max_length;
        found.push(Violation::new(
            path,
            format!("has {length} characters, at most {most} fit: shorten it"),
        ));
    }
    if has_control(text) {
        found.push(Violation::new(
            path,
            "holds control characters: remove them",
        ));
    }
    if rule.required && text.trim().is_empty() {
        found.push(Violation::new(path, "is blank: fill it"));
    }
}

fn check_enum(
    field: &FieldDescriptor,
    rule: &Rule,
    path: &str,
    number: i32,
    found: &mut Vec<Violation>,
) {
    let FieldKind::Enum(kind) = field.kind() else {
        return;
    };
    if kind.get_value(number).is_none() || (rule.required && number == 0) {
        found.push(Violation::new(
            path,
            format!("is not one of {}", choices(field)),
        ));
    }
}

fn check_date(path: &str, message: &DynamicMessage, found: &mut Vec<Violation>) {
    if message.descriptor().full_name() == "obvert.common.v1.LocalDate"
        && message
            .transcode_to::<LocalDate>()
            .is_ok_and(|date| date.to_civil().is_none())
    {
        found.push(Violation::new(
            path,
            "is no day of the calendar: give year, month and day",
        ));
    }
}

fn missing(field: &FieldDescriptor, rule: &Rule) -> String {
    match field.kind() {
        FieldKind::Enum(_) => format!("is missing: give one of {}", choices(field)),
        _ if rule.min.is_some() || rule.max.is_some() => {
            format!("is missing: give {}", range(rule, unit(field.name())))
        }
        _ => "is missing: fill it".to_owned(),
    }
}

fn range(rule: &Rule, unit: &str) -> String {
    match (rule.min, rule.max) {
        (Some(min), Some(max)) => format!("{min} to {max} {unit}"),
        (Some(min), None) => format!("{min} {unit} or more"),
        (None, Some(max)) => format!("{max} {unit} or less"),
        (None, None) => format!("a number in {unit}"),
    }
    .trim_end()
    .to_owned()
}

fn choices(field: &FieldDescriptor) -> String {
    let FieldKind::Enum(kind) = field.kind() else {
        return String::new();
    };
    let words: Vec<_> = kind
        .values()
        .filter(|v| v.number() != 0)
        .map(|v| v.name().to_owned())
        .collect();
    words.join(", ")
}
