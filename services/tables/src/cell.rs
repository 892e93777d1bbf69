//! One cell as one value, in both directions.

use jiff::Timestamp;
use obvert_engineering::unit_table::Conversion;
use obvert_proto::common::v1::LocalDate;
use prost_reflect::{DynamicMessage, EnumDescriptor, MessageDescriptor, Value};

use crate::{column_map::Style, did_you_mean, ids, numbers, times};

/// How the cells of one column read, as the field asks.
#[derive(Debug, Clone)]
pub(crate) enum Form {
    /// Text as it stands, or by the owner's words where there are any.
    Text { words: Vec<(String, String)> },
    /// Yes or no.
    Flag { words: Vec<(String, String)> },
    /// One value of an enum.
    Choice {
        choices: EnumDescriptor,
        words: Vec<(String, String)>,
    },
    /// Number in the column's unit.
    Number {
        unit: String,
        conversion: Conversion,
    },
    /// Whole number of 32 or, when `wide`, 64 bits.
    Whole { wide: bool },
    /// Record by its bare id or full name.
    Name {
        project: String,
        collection: String,
        prefix: String,
    },
    /// Calendar date.
    Date { message: MessageDescriptor },
    /// Instant.
    Time { message: MessageDescriptor },
}

/// Value of one cell, or of one element of a listed cell; the text is not blank.
pub(crate) fn read_value(text: &str, form: &Form, style: &Style) -> Result<Value, String> {
    match form {
        Form::Text { words } if words.is_empty() => Ok(Value::String(text.to_owned())),
        Form::Text { words } => word(text, words, &[]).map(|value| Value::String(value.to_owned())),
        Form::Flag { words } if words.is_empty() => flag(text),
        Form::Flag { words } => word(text, words, &[]).and_then(flag),
        Form::Choice { choices, words } => {
            let names: Vec<String> = choices
                .values()
                .filter(|v| v.number() != 0)
                .map(|v| v.name().to_owned())
                .collect();
            let name = word(text, words, &names)?;
            let value = choices
                .get_value_by_name(name)
                .ok_or_else(|| unknown(text, words, &names))?;
            Ok(Value::EnumNumber(value.number()))
        }
        Form::Number { unit, conversion } => numbers::parse_number(text, style.decimal)
            .map(|number| Value::F64(conversion.forward(number)))
            .map_err(|message| in_unit(&message, unit)),
        Form::Whole { wide } => {
            let number = numbers::parse_whole(text, style.decimal)?;
            if *wide {
                return Ok(Value::I64(number));
            }
            let narrow = i32::try_from(number);
            narrow
                .map(Value::I32)
                .map_err(|_| format!("{text:?} is no whole number that fits: check it"))
        }
        Form::Name {
            project,
            collection,
            prefix,
        } => ids::make_name(project, collection, prefix, text).map(Value::String),
        Form::Date { message } => style.date_form.parse(text).map(|date| {
            let date = LocalDate::from_civil(date);
            let parts = [
                ("year", date.year),
                ("month", date.month),
                ("day", date.day),
            ];
            whole_message(message, parts.map(|(name, part)| (name, Value::I32(part))))
        }),
        Form::Time { message } => {
            times::parse_time(text, style.date_form, style.zone.as_ref()).map(|instant| {
                let seconds = ("seconds", Value::I64(instant.as_second()));
                // The calendar counts back from a second before 1970, the schema always forward.
                let (seconds, nanos) = match instant.subsec_nanosecond() {
                    nanos if nanos < 0 => (
                        ("seconds", Value::I64(instant.as_second() - 1)),
                        nanos + 1_000_000_000,
                    ),
                    nanos => (seconds, nanos),
                };
                whole_message(message, [seconds, ("nanos", Value::I32(nanos))])
            })
        }
    }
}

/// Cell text of one value.
pub(crate) fn print_value(value: &Value, form: &Form, style: &Style) -> String {
    match (value, form) {
        (Value::String(text), Form::Text { words }) => unword(text, words).to_owned(),
        (
            Value::String(name),
            Form::Name {
                collection, prefix, ..
            },
        ) => ids::bare_name(collection, prefix, name).to_owned(),
        (Value::Bool(flag), Form::Flag { words }) => unword(&flag.to_string(), words).to_owned(),
        (Value::EnumNumber(number), Form::Choice { choices, words }) => choices
            .get_value(*number)
            .map_or(String::new(), |v| unword(v.name(), words).to_owned()),
        (Value::F64(number), Form::Number { conversion, .. }) => {
            numbers::print_number(*number, *conversion, style.decimal)
        }
        (Value::I32(number), _) => number.to_string(),
        (Value::I64(number), _) => number.to_string(),
        (Value::Message(message), Form::Date { .. }) => {
            let date = message
                .transcode_to::<LocalDate>()
                .ok()
                .and_then(|date| date.to_civil());
            date.map_or(String::new(), |date| style.date_form.print(date))
        }
        (Value::Message(message), Form::Time { .. }) => instant(message)
            .map_or(String::new(), |at| {
                times::print_time(at, style.zone.as_ref())
            }),
        _ => String::new(),
    }
}

/// Text that no spreadsheet takes for a formula: `'` before what begins like one.
///
/// The signs are those of OWASP ASVS 5.0, requirement 1.2.10, and the carriage return.
pub(crate) fn guard(text: String) -> String {
    if begins_like_formula(&text) {
        format!("'{text}")
    } else {
        text
    }
}

/// Cell without the blanks round it and without the `'` that [`guard`] put before it.
pub(crate) fn clean(cell: &str) -> &str {
    let text = cell.trim();
    text.strip_prefix('\'')
        .filter(|rest| begins_like_formula(rest))
        .unwrap_or(text)
}

fn begins_like_formula(text: &str) -> bool {
    text.trim_start_matches('\'')
        .starts_with(['=', '+', '-', '@', '\t', '\r', '\0'])
}

fn in_unit(message: &str, unit: &str) -> String {
    if unit.is_empty() {
        message.to_owned()
    } else {
        format!("{message}; the column is in {unit}")
    }
}

fn flag(text: &str) -> Result<Value, String> {
    match text.to_ascii_lowercase().as_str() {
        "true" | "yes" => Ok(Value::Bool(true)),
        "false" | "no" => Ok(Value::Bool(false)),
        _ => Err(format!(
            "{text:?} is none of yes, no, true, false: write one, or set words"
        )),
    }
}

/// What an owner's word stands for, or the text itself where it is one of `names`.
fn word<'a>(
    text: &'a str,
    words: &'a [(String, String)],
    names: &'a [String],
) -> Result<&'a str, String> {
    let found = words
        .iter()
        .find(|(word, _)| word.eq_ignore_ascii_case(text));
    match found {
        Some((_, meaning)) => Ok(meaning),
        None if names.iter().any(|name| name == text) => Ok(text),
        None => Err(unknown(text, words, names)),
    }
}

fn unknown(text: &str, words: &[(String, String)], names: &[String]) -> String {
    let known = || {
        words
            .iter()
            .map(|(word, _)| word.as_str())
            .chain(names.iter().map(String::as_str))
    };
    let list: Vec<_> = known().collect();
    let near = did_you_mean(text, known());
    format!(
        "{text:?} is none of {}: write one, or add it to words{near}",
        list.join(", ")
    )
}

/// First of the owner's words for a value, or the value itself.
fn unword<'a>(value: &'a str, words: &'a [(String, String)]) -> &'a str {
    words
        .iter()
        .find(|(_, meaning)| meaning == value)
        .map_or(value, |(word, _)| word)
}

fn whole_message<const N: usize>(message: &MessageDescriptor, parts: [(&str, Value); N]) -> Value {
    let mut whole = DynamicMessage::new(message.clone());
    for (name, part) in parts {
        whole.set_field_by_name(name, part);
    }
    Value::Message(whole)
}

fn instant(message: &DynamicMessage) -> Option<Timestamp> {
    let seconds = message.get_field_by_name("seconds")?.as_i64()?;
    let nanos = message.get_field_by_name("nanos")?.as_i32()?;
    Timestamp::new(seconds, nanos).ok()
}
