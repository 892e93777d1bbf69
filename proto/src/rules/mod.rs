//! Rules that the schema states about its own fields, and their check.
//!
//! Each field may carry `(obvert.common.v1.rule)`: required, range, referred collection. The same
//! marks serve the check of a request, the ledger's edges and the list an integrator reads, so no
//! range stands twice.

use std::{collections::HashMap, sync::LazyLock};

use prost_reflect::{DynamicMessage, FieldDescriptor, ReflectMessage, Value};

use crate::{Violation, pool};

mod called;
mod check;
mod labels;
mod marks;
mod read;

pub use called::{called, called_of};
use check::check_field;
pub use check::has_control;
pub use labels::{FieldWords, field_words, label, singular, unit};
pub use marks::{WorkTime, people_fields, people_replaced, without_people, work_times};
use read::{read_kind, read_rule};

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
    /// Whether it is a paper: something that can be typed from an original.
    pub is_paper: bool,
    /// Roles, as lower-case words, that issue such papers themselves.
    pub issued_by: Vec<String>,
    /// Field that the server counts, if there is one.
    pub counted: Option<String>,
    /// Field that people call a record by: the marked one, else the counted one.
    pub called_by: Option<String>,
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
    /// Says who took part.
    pub person: bool,
    /// Says when the work was done.
    pub work_time: bool,
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
        person: false,
        work_time: false,
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
