//! The typed values of a record as people compare them with an original, by reflection.

use std::collections::BTreeMap;

use obvert_proto::{enum_word, rules};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, ReflectMessage, Value as Held};

use crate::names;

/// One value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Value {
    /// Path of the field, such as `specimens[0].width_mm`.
    pub field: String,
    /// The same for people, such as `specimen 1, width`.
    pub label: String,
    /// Value as text.
    pub value: String,
    /// Unit; empty where it has none.
    pub unit: &'static str,
}

/// Values that were typed, in order of the schema. What the server adds and names of files are no
/// part of it. `called` says by what people call the records that it names.
pub fn values(message: &DynamicMessage, called: &BTreeMap<String, String>) -> Vec<Value> {
    let mut values = Values {
        called,
        found: Vec::new(),
    };
    values.add_message(message, ("", ""));
    values.found
}

/// Values in the making.
struct Values<'a> {
    called: &'a BTreeMap<String, String>,
    found: Vec<Value>,
}

impl Values<'_> {
    fn add_message(&mut self, message: &DynamicMessage, (prefix, above): (&str, &str)) {
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
                        let one = rules::singular(&label);
                        let label = match items.len() {
                            1 => one.to_owned(),
                            _ => format!("{one} {}", place + 1),
                        };
                        self.add(&field, (path, label), item);
                    }
                }
                value => self.add(&field, (path, label), value),
            }
        }
    }

    fn add(&mut self, field: &FieldDescriptor, (path, label): (String, String), value: &Held) {
        let text = match value {
            Held::Message(inner) => match inner.descriptor().full_name() {
                "obvert.common.v1.LocalDate" => date(inner),
                "google.protobuf.Timestamp" => time(inner),
                _ => return self.add_message(inner, (&path, &label)),
            },
            Held::EnumNumber(number) => word(field, *number),
            Held::F64(number) => number.to_string(),
            Held::I32(number) => number.to_string(),
            Held::I64(number) => number.to_string(),
            Held::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
            Held::String(name) if rules::rule(field).refers.is_some() => {
                let called = self.called.get(name).cloned();
                called.unwrap_or_else(|| names::number_of(name))
            }
            Held::String(text) => text.clone(),
            _ => return,
        };
        self.found.push(Value {
            field: path,
            label,
            value: text,
            unit: rules::unit(field.name()),
        });
    }
}

fn plain_number(field: &FieldDescriptor) -> bool {
    let number = matches!(field.kind(), Kind::Double | Kind::Int32 | Kind::Int64);
    number && !field.supports_presence() && !field.is_list()
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
