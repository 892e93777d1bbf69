//! The typed values of a record as people compare them with an original, by reflection.

use obvert_proto::{enum_word, rules};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, ReflectMessage, Value as Held};

use crate::names;

/// One value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Value {
    /// Path of the field, such as `specimens[0].width_mm`.
    pub field: String,
    /// The same for people, such as `specimens 1, width`.
    pub label: String,
    /// Value as text.
    pub value: String,
    /// Unit; empty where it has none.
    pub unit: &'static str,
}

/// Values that were typed, in order of the schema. What the server adds and names of files are no
/// part of it.
pub fn values(message: &DynamicMessage) -> Vec<Value> {
    let mut found = Vec::new();
    add_message(message, ("", ""), &mut found);
    found
}

fn add_message(message: &DynamicMessage, (prefix, above): (&str, &str), found: &mut Vec<Value>) {
    for field in message.descriptor().fields() {
        let rule = rules::rule(&field);
        let is_file = rule.refers.as_deref() == Some("attachments");
        // A number that is nought is not sent; it was typed all the same unless it could be left out.
        let shown = message.has_field(&field) || plain_number(&field);
        if rule.output_only || is_file || !shown {
            continue;
        }
        let path = if prefix.is_empty() {
            field.name().to_owned()
        } else {
            format!("{prefix}.{}", field.name())
        };
        let label = rules::label(field.name());
        let label = if above.is_empty() {
            label
        } else {
            format!("{above}, {label}")
        };
        match &*message.get_field(&field) {
            Held::List(items) => {
                for (place, item) in items.iter().enumerate() {
                    let path = format!("{path}[{place}]");
                    let label = format!("{label} {}", place + 1);
                    add(&field, (path, label), item, found);
                }
            }
            value => add(&field, (path, label), value, found),
        }
    }
}

fn plain_number(field: &FieldDescriptor) -> bool {
    let number = matches!(field.kind(), Kind::Double | Kind::Int32 | Kind::Int64);
    number && !field.supports_presence() && !field.is_list()
}

fn add(
    field: &FieldDescriptor,
    (path, label): (String, String),
    value: &Held,
    found: &mut Vec<Value>,
) {
    let text = match value {
        Held::Message(inner) => match inner.descriptor().full_name() {
            "obvert.common.v1.LocalDate" => date(inner),
            "google.protobuf.Timestamp" => time(inner),
            _ => return add_message(inner, (&path, &label), found),
        },
        Held::EnumNumber(number) => word(field, *number),
        Held::F64(number) => number.to_string(),
        Held::I32(number) => number.to_string(),
        Held::I64(number) => number.to_string(),
        Held::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Held::String(name) if rules::rule(field).refers.is_some() => names::id_of(name).to_owned(),
        Held::String(text) => text.clone(),
        _ => return,
    };
    found.push(Value {
        field: path,
        label,
        value: text,
        unit: rules::unit(field.name()),
    });
}

fn number(message: &DynamicMessage, field: &str) -> i64 {
    let value = message.get_field_by_name(field);
    let value = value.and_then(|v| v.as_i64().or_else(|| v.as_i32().map(i64::from)));
    value.unwrap_or_default()
}

fn date(message: &DynamicMessage) -> String {
    let part = |field| number(message, field);
    format!(
        "{:04}-{:02}-{:02}",
        part("year"),
        part("month"),
        part("day")
    )
}

fn time(message: &DynamicMessage) -> String {
    let time = jiff::Timestamp::from_second(number(message, "seconds")).unwrap_or_default();
    time.strftime("%Y-%m-%d %H:%M UTC").to_string()
}

/// `THICKNESS_BASIS_COMPOSITE` of `ThicknessBasis` as `composite`.
fn word(field: &FieldDescriptor, number: i32) -> String {
    let Kind::Enum(kind) = field.kind() else {
        return String::new();
    };
    let value = kind.get_value(number);
    value.map_or(String::new(), |value| enum_word(&kind, value.name()))
}
