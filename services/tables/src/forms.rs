//! How the cells of a column read, from the kind of its field and the words of its entry.

use obvert_engineering::unit_table::{self, Conversion};
use obvert_proto::rules;
use prost_reflect::{FieldDescriptor, Kind};

use crate::{
    cell::Form,
    column_map::{ColumnEntry, FixedEntry},
    did_you_mean,
};

/// Form of a column's cells; the error says why the entry does not fit the field.
pub(crate) fn of_column(
    entry: &ColumnEntry,
    field: &FieldDescriptor,
    project: &str,
) -> Result<Form, String> {
    let words = words(entry, field)?;
    let (prefix, collection) = (entry.prefix.as_deref(), entry.collection.as_deref());
    let form = match field.kind() {
        Kind::Double => number(entry, field)?,
        Kind::Int32 | Kind::Int64 => {
            number(entry, field)?;
            Form::Whole {
                wide: field.kind() == Kind::Int64,
            }
        }
        _ if entry.unit.is_some() => {
            return Err(format!("{} holds no number: remove unit", entry.field));
        }
        _ => other(field, project, prefix, collection, words)?,
    };
    let is_name = matches!(form, Form::Name { .. });
    if !is_name && (prefix.is_some() || collection.is_some()) {
        return Err(format!(
            "{} names no record: remove prefix and collection",
            entry.field
        ));
    }
    Ok(form)
}

/// Form of a fixed value, whose numbers are in the field's own unit.
pub(crate) fn of_fixed(
    entry: &FixedEntry,
    field: &FieldDescriptor,
    project: &str,
) -> Result<Form, String> {
    match field.kind() {
        Kind::Double => {
            let unit = rules::unit(field.name()).to_owned();
            Ok(Form::Number {
                unit,
                conversion: Conversion::NONE,
            })
        }
        Kind::Int32 | Kind::Int64 => Ok(Form::Whole {
            wide: field.kind() == Kind::Int64,
        }),
        _ => {
            let (prefix, collection) = (entry.prefix.as_deref(), entry.collection.as_deref());
            other(field, project, prefix, collection, Vec::new())
        }
    }
}

/// Whether cells of a form are numbers to a spreadsheet.
pub(crate) fn is_number(form: &Form) -> bool {
    matches!(form, Form::Number { .. } | Form::Whole { .. })
}

/// Why a message cannot be filled as one value.
pub(crate) fn own_fields(path: &str, field: &FieldDescriptor) -> String {
    let Kind::Message(message) = field.kind() else {
        return String::new();
    };
    let first = message
        .fields()
        .next()
        .map_or(String::new(), |first| first.name().to_owned());
    format!("{path} has fields of its own: name one, such as {path}.{first}")
}

fn other(
    field: &FieldDescriptor,
    project: &str,
    prefix: Option<&str>,
    collection: Option<&str>,
    words: Vec<(String, String)>,
) -> Result<Form, String> {
    let path = field.name();
    match field.kind() {
        _ if field.is_map() => Err(format!("{path} is a map, which tables do not carry")),
        Kind::Bool => Ok(Form::Flag { words }),
        Kind::Enum(choices) => Ok(Form::Choice { choices, words }),
        Kind::Message(message) => match message.full_name() {
            "obvert.common.v1.LocalDate" => Ok(Form::Date { message }),
            "google.protobuf.Timestamp" => Ok(Form::Time { message }),
            _ => Err(own_fields(path, field)),
        },
        Kind::String => match rules::rule(field).refers.as_deref() {
            Some(refers) => name(path, project, refers, prefix, collection),
            None => Ok(Form::Text { words }),
        },
        _ => Err(format!(
            "{path} is of a type that tables do not carry: remove it"
        )),
    }
}

fn name(
    field: &str,
    project: &str,
    refers: &str,
    prefix: Option<&str>,
    collection: Option<&str>,
) -> Result<Form, String> {
    let mut kinds = rules::kinds().values();
    let collection = match (refers, collection) {
        ("*", Some(any)) if kinds.clone().any(|kind| kind.collection == any) => any,
        ("*", Some(any)) => {
            let near = did_you_mean(any, kinds.map(|kind| kind.collection.as_str()));
            return Err(format!("{any:?} is no collection{near}"));
        }
        ("*", None) => {
            return Err(format!(
                "{field} may name any record: set collection, such as \"segments\""
            ));
        }
        (refers, Some(other)) if other != refers => {
            return Err(format!(
                "{field} names {refers}, not {other}: remove collection"
            ));
        }
        (refers, _) => refers,
    };
    let office = kinds.any(|kind| kind.collection == collection && kind.office);
    Ok(Form::Name {
        project: if office { "office" } else { project }.to_owned(),
        collection: collection.to_owned(),
        prefix: prefix.unwrap_or_default().to_owned(),
    })
}

/// Form of a number whose unit fits its field.
fn number(entry: &ColumnEntry, field: &FieldDescriptor) -> Result<Form, String> {
    let (name, wanted) = (&entry.field, rules::unit(field.name()));
    let conversion = match (entry.unit.as_deref(), wanted) {
        (None, "") => Conversion::NONE,
        (Some(unit), "") => {
            return Err(format!(
                "{name} has no unit, the map says {unit:?}: remove unit"
            ));
        }
        (None, wanted) => {
            let fit = unit_table::fitting(wanted);
            return Err(format!(
                "names no unit, {name} is in {wanted}: set unit to one of {fit}"
            ));
        }
        (Some(unit), wanted) => unit_table::conversion(unit, wanted).ok_or_else(|| {
            let near = if unit_table::names().any(|name| name == unit) {
                String::new()
            } else {
                did_you_mean(unit, unit_table::names())
            };
            let fit = unit_table::fitting(wanted);
            format!("unit {unit:?} does not fit {name} in {wanted}: use one of {fit}{near}")
        })?,
    };
    Ok(Form::Number {
        unit: entry.unit.clone().unwrap_or_default(),
        conversion,
    })
}

/// The owner's words, once each means something the field can hold.
fn words(entry: &ColumnEntry, field: &FieldDescriptor) -> Result<Vec<(String, String)>, String> {
    let words: Vec<_> = entry
        .words
        .iter()
        .map(|(w, m)| (w.trim().to_owned(), m.clone()))
        .collect();
    let known: Vec<String> = match field.kind() {
        _ if words.is_empty() => return Ok(words),
        Kind::Enum(choices) => choices
            .values()
            .filter(|v| v.number() != 0)
            .map(|v| v.name().to_owned())
            .collect(),
        Kind::Bool => vec!["true".to_owned(), "false".to_owned()],
        Kind::String if rules::rule(field).refers.is_none() => return Ok(words),
        _ => return Err(format!("{} takes no words: remove words", entry.field)),
    };
    match words.iter().find(|(_, meaning)| !known.contains(meaning)) {
        None => Ok(words),
        Some((word, meaning)) => {
            let near = did_you_mean(meaning, known.iter().map(String::as_str));
            let list = known.join(", ");
            Err(format!(
                "the word {word:?} means {meaning:?}, which is none of {list}{near}"
            ))
        }
    }
}
