//! Rules that the schema states about its own fields, and their check.
//!
//! Each field may carry `(obvert.common.v1.rule)`: required, range, referred collection. The same
//! marks serve the check of a request, the ledger's edges and the list an integrator reads, so no
//! range stands twice.

use std::{collections::HashMap, sync::LazyLock};

use prost_reflect::{
    DynamicMessage, FieldDescriptor, Kind as FieldKind, MessageDescriptor, ReflectMessage, Value,
};

use crate::{Violation, common::v1::LocalDate, pool};

/// Characters of a string that names no limit of its own.
const DEFAULT_LENGTH: usize = 500;

/// How records of one message type are kept.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Full name of the message type.
    pub type_name: String,
    /// Collection in the record's name.
    pub collection: String,
    /// Whether only an RPC of its own writes it.
    pub own_rpc: bool,
    /// Whether it lives in the reserved project `office`.
    pub office: bool,
}

/// One name of a record found in another record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reference {
    /// Path of the field that holds it.
    pub field: String,
    /// Collection the name must be of; `*` for any.
    pub collection: String,
    /// Full name of the record.
    pub name: String,
}

/// Rule of one field, as the schema states it.
#[derive(Debug, Clone, Default)]
pub struct Rule {
    /// Absent, empty and unspecified values are refused.
    pub required: bool,
    /// Least number, in the unit of the field's name.
    pub min: Option<f64>,
    /// Greatest number, in the unit of the field's name.
    pub max: Option<f64>,
    /// Collection the string names a record of.
    pub refers: Option<String>,
    /// Greatest length of a string in characters.
    pub max_length: usize,
    /// Only the server writes it.
    pub output_only: bool,
    /// Least number of elements.
    pub min_items: usize,
}

/// Every record kind, by the full name of its message type.
pub fn kinds() -> &'static HashMap<String, Kind> {
    static KINDS: LazyLock<HashMap<String, Kind>> = LazyLock::new(|| {
        pool()
            .all_messages()
            .filter_map(|m| read_kind(&m).map(|k| (k.type_name.clone(), k)))
            .collect()
    });
    &KINDS
}

/// Rule of a field; the default rule where the schema states none.
pub fn rule(field: &FieldDescriptor) -> &'static Rule {
    static RULES: LazyLock<HashMap<String, Rule>> = LazyLock::new(|| {
        let fields = pool()
            .all_messages()
            .flat_map(|m| m.fields().collect::<Vec<_>>());
        fields
            .map(|f| (f.full_name().to_owned(), read_rule(&f)))
            .collect()
    });
    static NONE: Rule = Rule {
        required: false,
        min: None,
        max: None,
        refers: None,
        max_length: DEFAULT_LENGTH,
        output_only: false,
        min_items: 0,
    };
    RULES.get(field.full_name()).unwrap_or(&NONE)
}

/// Every field of a message that breaks its rule, nested messages included.
pub fn violations(message: &DynamicMessage) -> Vec<Violation> {
    let mut found = Vec::new();
    walk(message, "", &mut |field, path, value| {
        check_field(field, path, value, &mut found)
    });
    found
}

/// Every name of another record in a message, nested messages included.
pub fn references(message: &DynamicMessage) -> Vec<Reference> {
    let mut found = Vec::new();
    walk(message, "", &mut |field, path, value| {
        let Some(collection) = &rule(field).refers else {
            return;
        };
        let mut push = |path: String, value: &Value| {
            if let Some(name) = value.as_str().filter(|name| !name.is_empty()) {
                found.push(Reference {
                    field: path,
                    collection: collection.clone(),
                    name: name.into(),
                });
            }
        };
        match value {
            Some(Value::List(items)) => {
                items
                    .iter()
                    .enumerate()
                    .for_each(|(i, v)| push(format!("{path}[{i}]"), v));
            }
            Some(value) => push(path.to_owned(), value),
            None => {}
        }
    });
    found
}

/// Unit that ends a field's name, as people write it; empty where there is none.
pub fn unit(field_name: &str) -> &'static str {
    const UNITS: [(&str, &str); 15] = [
        ("_m_per_min", "m/min"),
        ("_kn_per_m3", "kN/m3"),
        ("_mm", "mm"),
        ("_kpa", "kPa"),
        ("_mpa", "MPa"),
        ("_celsius", "C"),
        ("_percent", "percent"),
        ("_litre", "litre"),
        ("_bytes", "bytes"),
        ("_days", "days"),
        ("_kn", "kN"),
        ("_kg", "kg"),
        ("_w", "W"),
        ("_s", "s"),
        ("_m", "m"),
    ];
    UNITS
        .iter()
        .find(|(end, _)| field_name.ends_with(end))
        .map_or("", |(_, unit)| unit)
}

/// Calls `visit` for every field of the message and, depth first, of the messages within it.
fn walk(
    message: &DynamicMessage,
    prefix: &str,
    visit: &mut impl FnMut(&FieldDescriptor, &str, Option<&Value>),
) {
    for field in message.descriptor().fields() {
        let path = if prefix.is_empty() {
            field.name().to_owned()
        } else {
            format!("{prefix}.{}", field.name())
        };
        let present = message.has_field(&field);
        let value = message.get_field(&field);
        visit(&field, &path, present.then_some(&*value));
        match &*value {
            Value::Message(inner) if present => walk(inner, &path, visit),
            Value::List(items) => {
                for (i, item) in items.iter().enumerate() {
                    if let Value::Message(inner) = item {
                        walk(inner, &format!("{path}[{i}]"), visit);
                    }
                }
            }
            _ => {}
        }
    }
}

fn check_field(
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
        let message = format!(
            "is {number} {unit}, allowed is {}: check value and unit",
            range(rule, unit)
        );
        found.push(Violation::new(path, message.replace("  ", " ")));
    }
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
    let control = |c: char| c.is_control() && !matches!(c, '\n' | '\t' | '\r');
    if text.chars().any(control) {
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

fn read_kind(message: &MessageDescriptor) -> Option<Kind> {
    let extension = pool().get_extension_by_name("obvert.common.v1.kind")?;
    let options = message.options();
    if !options.has_extension(&extension) {
        return None;
    }
    let value = options.get_extension(&extension);
    let value = value.as_message()?;
    let flag = |name: &str| value.get_field_by_name(name).and_then(|v| v.as_bool());
    Some(Kind {
        type_name: message.full_name().to_owned(),
        collection: value.get_field_by_name("collection")?.as_str()?.to_owned(),
        own_rpc: flag("own_rpc").unwrap_or_default(),
        office: flag("office").unwrap_or_default(),
    })
}

fn read_rule(field: &FieldDescriptor) -> Rule {
    let mut rule = Rule {
        max_length: DEFAULT_LENGTH,
        ..Rule::default()
    };
    let Some(extension) = pool().get_extension_by_name("obvert.common.v1.rule") else {
        return rule;
    };
    let options = field.options();
    if !options.has_extension(&extension) {
        return rule;
    }
    let value = options.get_extension(&extension);
    let Some(value) = value.as_message() else {
        return rule;
    };
    let number = |name: &str| {
        let present = value.has_field_by_name(name);
        value
            .get_field_by_name(name)
            .filter(|_| present)
            .and_then(|v| v.as_f64())
    };
    let count = |name: &str| {
        let value = value
            .get_field_by_name(name)
            .and_then(|v| v.as_i32())
            .unwrap_or_default();
        usize::try_from(value).unwrap_or_default()
    };
    let flag = |name: &str| {
        value
            .get_field_by_name(name)
            .and_then(|v| v.as_bool())
            .unwrap_or_default()
    };
    rule.required = flag("required");
    rule.output_only = flag("output_only");
    rule.min = number("min");
    rule.max = number("max");
    rule.min_items = count("min_items");
    if count("max_length") > 0 {
        rule.max_length = count("max_length");
    }
    let refers = value
        .get_field_by_name("refers")
        .and_then(|v| v.as_str().map(str::to_owned));
    rule.refers = refers.filter(|collection| !collection.is_empty());
    rule
}
