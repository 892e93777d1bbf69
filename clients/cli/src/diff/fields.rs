//! Two JSON values, field by field.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

/// A field that two states of a record do not share.
#[derive(Debug, Serialize)]
pub(crate) struct FieldChange {
    /// Path of the field, such as `wall.wallThicknessMm` or `segments[1].segment`.
    pub(crate) field: String,
    /// Value before; nothing where the field was not there.
    pub(crate) old: Option<Value>,
    /// Value after; nothing where the field is gone.
    pub(crate) new: Option<Value>,
}

/// Every place below a record in which two states differ.
pub(super) fn changes(old: &Value, new: &Value) -> Vec<FieldChange> {
    let (mut before, mut after) = (BTreeMap::new(), BTreeMap::new());
    spread("", old, &mut before);
    spread("", new, &mut after);
    let mut fields: Vec<_> = before.keys().chain(after.keys()).cloned().collect();
    fields.sort();
    fields.dedup();
    let change = |field: String| FieldChange {
        old: before.get(&field).map(|value| (*value).clone()),
        new: after.get(&field).map(|value| (*value).clone()),
        field,
    };
    fields
        .into_iter()
        .map(change)
        .filter(|change| change.old != change.new)
        .collect()
}

/// Leaves of a value by their paths.
fn spread<'a>(path: &str, value: &'a Value, leaves: &mut BTreeMap<String, &'a Value>) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                let dot = if path.is_empty() { "" } else { "." };
                spread(&format!("{path}{dot}{name}"), value, leaves);
            }
        }
        Value::Array(values) => {
            for (place, value) in values.iter().enumerate() {
                spread(&format!("{path}[{place}]"), value, leaves);
            }
        }
        leaf => {
            leaves.insert(path.to_owned(), leaf);
        }
    }
}
