//! One table of the text, read key by key; what nobody asked for is unknown.

use std::ops::RangeInclusive;

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::Faults;
use crate::did_you_mean;

/// Reader of one table.
pub struct Reader<'a> {
    table: &'a DeTable<'a>,
    /// Byte at which the table stands.
    pub place: usize,
    what: &'static str,
    asked: Vec<&'static str>,
}

/// Table of a whole text; nothing when it is no TOML, and the faults say where.
pub fn read<'t>(source: &'t str, faults: &mut Faults<'_>) -> Option<Spanned<DeTable<'t>>> {
    let (table, errors) = DeTable::parse_recoverable(source);
    for error in &errors {
        let span = error.span().unwrap_or_default();
        let message = match (error.message(), source.get(span.clone())) {
            ("duplicate key", Some(key)) => format!("{key} stands twice: keep one"),
            (message, _) => message.to_owned(),
        };
        faults.add(span.start, message);
    }
    errors.is_empty().then_some(table)
}

impl<'a> Reader<'a> {
    /// Reader of a table that stands at a byte; `what` names it in messages.
    pub fn new(table: &'a DeTable<'a>, place: usize, what: &'static str) -> Self {
        Self {
            table,
            place,
            what,
            asked: Vec::new(),
        }
    }

    /// Value of a key, if it is there.
    pub fn value(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.asked.push(key);
        self.table.get(key)
    }

    /// Text that must be there.
    pub fn text(&mut self, key: &'static str, faults: &mut Faults<'_>) -> String {
        let Some(value) = self.value(key) else {
            faults.add(
                self.place,
                format!("{} has no {key}: add {key} = \"...\"", self.what),
            );
            return String::new();
        };
        self.as_text(key, value, faults)
    }

    /// Text that may be left out.
    pub fn text_or(
        &mut self,
        key: &'static str,
        otherwise: &str,
        faults: &mut Faults<'_>,
    ) -> String {
        match self.value(key) {
            Some(value) => self.as_text(key, value, faults),
            None => otherwise.to_owned(),
        }
    }

    /// Text that may be left out, without another in its place.
    pub fn text_if_any(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<String> {
        let value = self.value(key)?;
        Some(self.as_text(key, value, faults)).filter(|text| !text.is_empty())
    }

    /// Whole number within a range; the default when left out.
    pub fn whole_or(
        &mut self,
        key: &'static str,
        otherwise: u64,
        range: RangeInclusive<u64>,
        faults: &mut Faults<'_>,
    ) -> u64 {
        let Some(value) = self.value(key) else {
            return otherwise;
        };
        let written = match value.get_ref() {
            DeValue::Integer(integer) => integer.to_string(),
            other => format!("a {}", other.type_str()),
        };
        let whole = match value.get_ref() {
            DeValue::Integer(integer) => {
                u64::from_str_radix(&integer.as_str().replace('_', ""), integer.radix()).ok()
            }
            _ => None,
        };
        match whole.filter(|whole| range.contains(whole)) {
            Some(whole) => whole,
            None => {
                let (least, most) = (range.start(), range.end());
                let message =
                    format!("{key} is {written}: write a whole number from {least} to {most}");
                faults.add(value.span().start, message);
                otherwise
            }
        }
    }

    /// True or false; false when left out.
    pub fn flag(&mut self, key: &'static str, faults: &mut Faults<'_>) -> bool {
        let value = self.value(key);
        let flag = value.and_then(|value| value.get_ref().as_bool());
        if let (Some(value), None) = (value, flag) {
            faults.add(
                value.span().start,
                format!("{key} is not true or false: write one of them"),
            );
        }
        flag.unwrap_or_default()
    }

    /// Words of a list that may be left out, with their places.
    pub fn words(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Vec<(String, usize)> {
        self.value(key)
            .map_or(Vec::new(), |value| words_of(key, value, faults))
    }

    /// Table of a key that must be there.
    pub fn table(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Option<Reader<'a>> {
        let value = self.value(key);
        let table = value.and_then(|value| value.get_ref().as_table());
        match (value, table) {
            (Some(value), Some(table)) => Some(Reader::new(table, value.span().start, key)),
            (Some(value), None) => {
                faults.add(
                    value.span().start,
                    format!("{key} is no table: write [{key}]"),
                );
                None
            }
            (None, _) => {
                faults.add(self.place, format!("{} has no [{key}]: add it", self.what));
                None
            }
        }
    }

    /// Table of a key that may be left out.
    pub fn table_if_any(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<Reader<'a>> {
        self.value(key)?;
        self.table(key, faults)
    }

    /// Tables of a list; empty when there is none.
    pub fn tables(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Vec<Reader<'a>> {
        let Some(value) = self.value(key) else {
            faults.add(
                self.place,
                format!("{} has no [[{key}]]: add at least one", self.what),
            );
            return Vec::new();
        };
        let entries = value
            .get_ref()
            .as_array()
            .map(|array| array.iter().collect::<Vec<_>>());
        let Some(entries) = entries else {
            faults.add(
                value.span().start,
                format!("{key} is no list: write [[{key}]]"),
            );
            return Vec::new();
        };
        let mut readers = Vec::new();
        for entry in entries {
            match entry.get_ref().as_table() {
                Some(table) => readers.push(Reader::new(table, entry.span().start, key)),
                None => faults.add(
                    entry.span().start,
                    format!("{key} is no table: write [[{key}]]"),
                ),
            }
        }
        readers
    }

    /// Whether a key is written.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Byte at which the value of a key stands, or the table itself.
    pub fn place_of(&self, key: &str) -> usize {
        self.table
            .get(key)
            .map_or(self.place, |value| value.span().start)
    }

    /// Refuses the keys that nobody asked for.
    pub fn finish(self, faults: &mut Faults<'_>) {
        for (key, _) in self.table {
            if !self.asked.contains(&key.get_ref().as_ref()) {
                let near = did_you_mean(key.get_ref(), self.asked.iter().copied());
                let message = format!(
                    "{} has no key \"{}\": take it out{near}",
                    self.what,
                    key.get_ref()
                );
                faults.add(key.span().start, message);
            }
        }
    }

    fn as_text(&self, key: &str, value: &Spanned<DeValue<'_>>, faults: &mut Faults<'_>) -> String {
        match value.get_ref().as_str() {
            Some(text) if !text.trim().is_empty() => {
                check_controls(key, (text, value.span().start), faults);
                text.to_owned()
            }
            Some(_) => {
                faults.add(
                    value.span().start,
                    format!("{key} is empty: say what it is"),
                );
                String::new()
            }
            None => {
                let kind = value.get_ref().type_str();
                faults.add(
                    value.span().start,
                    format!("{key} is a {kind}: write a text in quotes"),
                );
                String::new()
            }
        }
    }
}

/// Refuses what would command a terminal that shows the text.
pub fn check_controls(key: &str, (text, place): (&str, usize), faults: &mut Faults<'_>) {
    let control = |c: char| c.is_control() && !matches!(c, '\n' | '\t' | '\r');
    if text.contains(control) {
        faults.add(
            place,
            format!("{key} holds control characters: remove them"),
        );
    }
}

/// Words of a list with their places.
pub fn words_of(
    key: &'static str,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults<'_>,
) -> Vec<(String, usize)> {
    let Some(array) = value.get_ref().as_array() else {
        faults.add(
            value.span().start,
            format!("{key} is no list: write {key} = [\"...\"]"),
        );
        return Vec::new();
    };
    let mut words = Vec::new();
    for entry in array.iter() {
        match entry.get_ref().as_str() {
            Some(word) => {
                check_controls(key, (word, entry.span().start), faults);
                words.push((word.to_owned(), entry.span().start));
            }
            None => faults.add(
                entry.span().start,
                format!("{key} holds something that is no text"),
            ),
        }
    }
    words
}

/// Number of a value, if it is one.
pub fn number_of(value: &DeValue<'_>) -> Option<f64> {
    let plain = |text: &str| {
        text.replace('_', "")
            .parse::<f64>()
            .ok()
            .filter(|n| n.is_finite())
    };
    match value {
        DeValue::Integer(integer) if integer.radix() == 10 => plain(integer.as_str()),
        DeValue::Float(float) => plain(float.as_str()),
        _ => None,
    }
}

/// Words in a row, for messages.
pub fn listed<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    words.into_iter().collect::<Vec<_>>().join(", ")
}
