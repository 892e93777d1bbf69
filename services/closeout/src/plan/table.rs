//! One table of the text, read key by key; what nobody asked for is unknown.

use obvert_proto::common::v1::PaperGrade;
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::{faults::Faults, suggest::did_you_mean};

/// Reader of one table.
pub(super) struct Reader<'a> {
    table: &'a DeTable<'a>,
    /// Byte at which the table stands.
    pub(super) place: usize,
    what: &'static str,
    asked: Vec<&'static str>,
}

/// Words of the grades of paper, weakest first.
const GRADES: &[(&str, PaperGrade)] = &[
    ("transcribed", PaperGrade::Transcribed),
    ("checked-by-second-role", PaperGrade::CheckedBySecondRole),
    ("confirmed-by-issuer", PaperGrade::ConfirmedByIssuer),
    ("direct", PaperGrade::Direct),
];

impl<'a> Reader<'a> {
    pub(super) fn new(table: &'a DeTable<'a>, place: usize, what: &'static str) -> Self {
        Self {
            table,
            place,
            what,
            asked: Vec::new(),
        }
    }

    /// Value of a key, if it is there.
    pub(super) fn value(&mut self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.asked.extend(KEYS.iter().find(|known| **known == key));
        self.table.get(key)
    }

    /// Text that must be there.
    pub(super) fn text(&mut self, key: &str, faults: &mut Faults<'_>) -> String {
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
    pub(super) fn text_or(
        &mut self,
        key: &str,
        otherwise: &str,
        faults: &mut Faults<'_>,
    ) -> String {
        match self.value(key) {
            Some(value) => self.as_text(key, value, faults),
            None => otherwise.to_owned(),
        }
    }

    /// True or false; false when left out.
    pub(super) fn flag(&mut self, key: &str, faults: &mut Faults<'_>) -> bool {
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
    pub(super) fn words(&mut self, key: &str, faults: &mut Faults<'_>) -> Vec<(String, usize)> {
        self.value(key)
            .map_or(Vec::new(), |value| words_of(key, value, faults))
    }

    /// One of some words; the first of the default when left out.
    pub(super) fn grade(&mut self, key: &str, faults: &mut Faults<'_>) -> PaperGrade {
        let Some(value) = self.value(key) else {
            return PaperGrade::CheckedBySecondRole;
        };
        let word = self.as_text(key, value, faults);
        let known = GRADES.iter().find(|(known, _)| *known == word);
        if known.is_none() {
            let near = did_you_mean(&word, GRADES.iter().map(|(known, _)| *known));
            let message = format!(
                "{key} is \"{word}\": one of {}{near}",
                listed(GRADES.iter().map(|g| g.0))
            );
            faults.add(value.span().start, message);
        }
        known.map_or(PaperGrade::CheckedBySecondRole, |(_, grade)| *grade)
    }

    /// Table of a key that must be there.
    pub(super) fn table(
        &mut self,
        key: &'static str,
        faults: &mut Faults<'_>,
    ) -> Option<Reader<'a>> {
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

    /// Tables of a list; empty when there is none.
    pub(super) fn tables(&mut self, key: &'static str, faults: &mut Faults<'_>) -> Vec<Reader<'a>> {
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

    /// Byte at which the value of a key stands, or the table itself.
    pub(super) fn place_of(&self, key: &str) -> usize {
        self.table
            .get(key)
            .map_or(self.place, |value| value.span().start)
    }

    /// Refuses the keys that nobody asked for.
    pub(super) fn finish(self, faults: &mut Faults<'_>) {
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
            Some(text) if !text.trim().is_empty() => text.to_owned(),
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

/// Words of a list with their places.
pub(super) fn words_of(
    key: &str,
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
            Some(word) => words.push((word.to_owned(), entry.span().start)),
            None => faults.add(
                entry.span().start,
                format!("{key} holds something that is no text"),
            ),
        }
    }
    words
}

/// Number of a value, if it is one.
pub(super) fn number_of(value: &DeValue<'_>) -> Option<f64> {
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
pub(super) fn listed<'w>(words: impl IntoIterator<Item = &'w str>) -> String {
    words.into_iter().collect::<Vec<_>>().join(", ")
}

/// Keys that some table of a plan may have.
const KEYS: &[&str] = &[
    "plan",
    "limit",
    "point",
    "title",
    "owner",
    "revision",
    "parameter",
    "operator",
    "value",
    "unit",
    "basis",
    "source",
    "who_may_vary",
    "id",
    "stage",
    "class",
    "evaluator",
    "parameters",
    "released_by",
    "least_grade",
    "source_clause",
    "after",
    "varied_by",
    "self_release",
];
