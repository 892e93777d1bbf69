//! The owner's column map: which column fills which field, and how its cells are written.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;
use obvert_proto::Violation;
use serde::Deserialize;

use crate::{ids, map_keys, times::DateForm};

/// Longest column map in bytes, as the schema allows.
const MAX_MAP_BYTES: usize = 65_536;

/// Which column of an owner's table fills which field of a record, read from TOML.
///
/// One map serves one form of table and one kind of record, in both directions.
#[derive(Debug, Clone)]
pub struct ColumnMap {
    pub(crate) layout: Layout,
    pub(crate) style: Style,
}

impl ColumnMap {
    /// Reads a map. What depends on the kind of record, such as fields and units, is checked by
    /// [`crate::read`].
    ///
    /// # Errors
    ///
    /// Every unknown key by line and column, with the nearest known one; else what is no TOML, or
    /// every value that cannot be right whatever the kind of record.
    pub fn parse(toml: &str) -> Result<Self, Vec<Violation>> {
        if toml.len() > MAX_MAP_BYTES {
            let message = format!(
                "has {} bytes, {MAX_MAP_BYTES} are allowed: shorten it",
                toml.len()
            );
            return Err(vec![Violation::new("column map", message)]);
        }
        map_keys::check(toml)?;
        let layout: Layout =
            toml::from_str(toml).map_err(|error| vec![map_keys::place(toml, &error)])?;
        let mut found = Vec::new();
        let zone = layout.time_zone.as_deref().and_then(|name| {
            let zone = TimeZone::get(name).ok();
            if zone.is_none() {
                let message = format!(
                    "{name:?} is no IANA time zone: write one such as \"America/New_York\""
                );
                found.push(Violation::new("column map, time_zone", message));
            }
            zone
        });
        let decimal = layout.decimal.sign();
        let style = Style {
            decimal,
            date_form: layout.date_form,
            zone,
        };
        check_layout(&layout, &mut found);
        if found.is_empty() {
            Ok(Self { layout, style })
        } else {
            Err(found)
        }
    }

    /// Collection that the map's tables fill, such as `segments`.
    pub fn collection(&self) -> &str {
        &self.layout.collection
    }
}

/// How cells are written, whatever their column.
#[derive(Debug, Clone)]
pub(crate) struct Style {
    /// Decimal sign.
    pub(crate) decimal: char,
    /// Form of dates, also in local times.
    pub(crate) date_form: DateForm,
    /// Zone of local times.
    pub(crate) zone: Option<TimeZone>,
}

/// The map as its TOML states it.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Layout {
    pub(crate) collection: String,
    #[serde(default)]
    pub(crate) delimiter: Delimiter,
    #[serde(default)]
    decimal: Decimal,
    time_zone: Option<String>,
    #[serde(default)]
    date_form: DateForm,
    #[serde(default)]
    pub(crate) unmapped_columns: Unmapped,
    #[serde(default)]
    pub(crate) blank: Vec<String>,
    pub(crate) id: IdEntry,
    #[serde(default, rename = "column")]
    pub(crate) columns: Vec<ColumnEntry>,
    #[serde(default)]
    pub(crate) fixed: Vec<FixedEntry>,
    pub(crate) group: Option<GroupEntry>,
}

impl Layout {
    /// Every column the map names, each once: for ids, for groups, then in the order of the map.
    pub(crate) fn column_names(&self) -> Vec<&str> {
        let ids = self.id.columns().iter().map(String::as_str);
        let group = self.group.iter().map(|group| group.by.as_str());
        let mut names = Vec::new();
        for name in ids
            .chain(group)
            .chain(self.columns.iter().map(|entry| entry.column.as_str()))
        {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names
    }
}

/// Sign between cells.
#[derive(Debug, Clone, Copy, Default, Deserialize)]
pub(crate) enum Delimiter {
    #[default]
    #[serde(rename = ",")]
    Comma,
    #[serde(rename = ";")]
    Semicolon,
    #[serde(rename = "\t", alias = "tab")]
    Tab,
}

impl Delimiter {
    /// The sign itself.
    pub(crate) fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }
}

#[derive(Debug, Clone, Copy, Default, Deserialize)]
enum Decimal {
    #[default]
    #[serde(rename = ".")]
    Point,
    #[serde(rename = ",")]
    Comma,
}

impl Decimal {
    fn sign(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
}

/// What becomes of columns that the map does not name.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Unmapped {
    #[default]
    Refuse,
    Ignore,
}

/// Where the record's id comes from.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct IdEntry {
    column: OneOrMore,
    #[serde(default)]
    pub(crate) prefix: String,
}

impl IdEntry {
    /// Columns whose cells make the id, in order.
    pub(crate) fn columns(&self) -> &[String] {
        match &self.column {
            OneOrMore::One(column) => std::slice::from_ref(column),
            OneOrMore::More(columns) => columns,
        }
    }
}

#[derive(Debug, Clone, Deserialize)]
#[serde(
    untagged,
    expecting = "expected the name of a column, or a list of names"
)]
enum OneOrMore {
    One(String),
    More(Vec<String>),
}

/// One column and the field it fills.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct ColumnEntry {
    pub(crate) column: String,
    pub(crate) field: String,
    pub(crate) unit: Option<String>,
    #[serde(default)]
    pub(crate) words: BTreeMap<String, String>,
    pub(crate) list: Option<String>,
    pub(crate) prefix: Option<String>,
    pub(crate) collection: Option<String>,
    #[serde(default)]
    pub(crate) blank: Vec<String>,
}

/// A field that every record of the table has alike.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct FixedEntry {
    pub(crate) field: String,
    pub(crate) value: toml::Value,
    pub(crate) prefix: Option<String>,
    pub(crate) collection: Option<String>,
}

/// Which rows make one record together.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct GroupEntry {
    pub(crate) by: String,
    pub(crate) repeated: String,
}

fn check_layout(layout: &Layout, found: &mut Vec<Violation>) {
    let mut wrong = |place: String, message: &str| {
        found.push(Violation::new(format!("column map, {place}"), message));
    };
    if layout.columns.is_empty() {
        wrong(
            "[[column]]".into(),
            "no column fills a field: add at least one [[column]]",
        );
    }
    if layout.id.columns().is_empty() {
        wrong(
            "[id] column".into(),
            "names no column: name the column that identifies a record",
        );
    }
    let prefixes = std::iter::once(("[id]".to_owned(), layout.id.prefix.as_str())).chain(
        layout
            .columns
            .iter()
            .map(|e| (e.place(), e.prefix.as_deref().unwrap_or_default())),
    );
    for (place, prefix) in prefixes.filter(|(_, prefix)| !ids::prefix_fits(prefix)) {
        let message = format!("prefix {prefix:?} begins no id: use a-z, then a-z, 0-9 and -");
        wrong(place, &message);
    }
    for name in layout.column_names() {
        if name.trim() != name || name.is_empty() {
            wrong(
                format!("column {name:?}"),
                "is blank or has blanks at its ends: trim it",
            );
        }
    }
    for entry in &layout.columns {
        let unfit = |list: &String| {
            let letter = |c: char| c.is_alphanumeric() || matches!(c, '"' | '\'' | '-');
            list.is_empty() || list.chars().any(letter)
        };
        if let Some(list) = entry.list.as_ref().filter(|list| unfit(list)) {
            let message = format!(
                "list {list:?} would split values: use a sign that is no letter, digit, quote or \
                 hyphen, such as \";\""
            );
            wrong(entry.place(), &message);
        }
    }
}

impl ColumnEntry {
    /// How messages call the entry.
    pub(crate) fn place(&self) -> String {
        format!("column {:?}", self.column)
    }
}
