//! Keys of a column map, and where in its text something stands.

use obvert_proto::Violation;
use toml::de::{DeTable, DeValue, Error};

use crate::{did_you_mean, toml_text};

const TOP: [&str; 11] = [
    "collection",
    "delimiter",
    "decimal",
    "time_zone",
    "date_form",
    "unmapped_columns",
    "blank",
    "id",
    "column",
    "fixed",
    "group",
];
const ID: [&str; 2] = ["column", "prefix"];
const COLUMN: [&str; 8] = [
    "column",
    "field",
    "unit",
    "words",
    "list",
    "prefix",
    "collection",
    "blank",
];
const FIXED: [&str; 4] = ["field", "value", "prefix", "collection"];
const GROUP: [&str; 2] = ["by", "repeated"];

/// Refuses keys that no map has, all at once, and text that is no TOML.
pub(crate) fn check(text: &str) -> Result<(), Vec<Violation>> {
    let table = DeTable::parse(text).map_err(|error| vec![place(text, &error)])?;
    let mut found = Vec::new();
    check_table(text, table.get_ref(), &TOP, &mut found);
    for (key, value) in table.get_ref() {
        let known: &[&str] = match key.get_ref().as_ref() {
            "id" => &ID,
            "column" => &COLUMN,
            "fixed" => &FIXED,
            "group" => &GROUP,
            _ => continue,
        };
        match value.get_ref() {
            DeValue::Table(table) => check_table(text, table, known, &mut found),
            DeValue::Array(tables) => {
                for table in tables.iter().filter_map(|table| table.get_ref().as_table()) {
                    check_table(text, table, known, &mut found);
                }
            }
            _ => {}
        }
    }
    if found.is_empty() { Ok(()) } else { Err(found) }
}

/// A fault of the TOML, by line and column.
pub(crate) fn place(text: &str, error: &Error) -> Violation {
    let at = error
        .span()
        .map_or(String::new(), |span| at(text, span.start));
    Violation::new(format!("column map{at}"), error.message())
}

fn check_table(text: &str, table: &DeTable<'_>, known: &[&str], found: &mut Vec<Violation>) {
    for key in table
        .keys()
        .filter(|key| !known.contains(&key.get_ref().as_ref()))
    {
        let word = key.get_ref();
        let near = did_you_mean(word, known.iter().copied());
        let message = format!("{word:?} is none of {}{near}", known.join(", "));
        found.push(Violation::new(
            format!("column map{}", at(text, key.span().start)),
            message,
        ));
    }
}

fn at(text: &str, byte: usize) -> String {
    let (line, column) = toml_text::place(text, byte);
    format!(" line {line} column {column}")
}
