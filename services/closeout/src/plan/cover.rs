//! `[package.cover]`: the owner's own first page of a package.
//!
//! How much it may say is limited, so that it stays one page.

use obvert_tables::{
    did_you_mean,
    toml_text::{Faults, Reader, listed},
};

use super::cover_facts::{COVER_FACTS, CoverFact};

/// Longest title.
pub const TITLE_CHARS: usize = 80;
/// Most free lines, and the longest.
pub const LINES: (usize, usize) = (8, 120);
/// Most facts, and the longest label.
pub const FACTS: (usize, usize) = (20, 40);
/// Most rows to be signed, and the longest label.
pub const SIGNERS: (usize, usize) = (6, 60);

/// The owner's cover, in the owner's words and order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CoverText {
    /// Title.
    pub title: String,
    /// Free lines under the owner's name.
    pub lines: Vec<String>,
    /// Facts to be shown, each with its label.
    pub facts: Vec<(CoverFact, String)>,
    /// Who signs by hand, a row each.
    pub signed_by: Vec<String>,
    /// SHA-256 of the logo in lower-case hexadecimal; empty for the project's.
    pub logo_sha256: String,
}

impl CoverText {
    /// What it has, each with its name, for people.
    pub fn rows(&self) -> Vec<(&'static str, String)> {
        let quoted = |texts: &[String]| {
            let texts: Vec<_> = texts.iter().map(|text| format!("\"{text}\"")).collect();
            or_nothing(texts.join(", "))
        };
        let facts = self.facts.iter();
        let facts: Vec<_> = facts
            .map(|(fact, label)| format!("{} as \"{label}\"", fact.word()))
            .collect();
        let logo = match self.logo_sha256.as_str() {
            "" => "that of the project".to_owned(),
            sha256 => format!("the attachment with SHA-256 {sha256}"),
        };
        vec![
            ("title", format!("\"{}\"", self.title)),
            ("lines", quoted(&self.lines)),
            ("facts", or_nothing(facts.join(", "))),
            ("rows to be signed by hand", quoted(&self.signed_by)),
            ("logo", logo),
        ]
    }
}

/// What one cover changes of another, in words.
pub(super) fn changes(before: Option<&CoverText>, after: Option<&CoverText>) -> Vec<String> {
    let (before, after) = match (before, after) {
        (None, None) => return Vec::new(),
        (None, Some(cover)) => {
            return vec![format!("the owner's cover \"{}\" is new", cover.title)];
        }
        (Some(cover), None) => {
            let title = &cover.title;
            return vec![format!("the owner's cover \"{title}\" is taken out")];
        }
        (Some(before), Some(after)) => (before.rows(), after.rows()),
    };
    let pairs = before.into_iter().zip(after);
    pairs
        .filter(|((_, was), (_, is))| was != is)
        .map(|((what, was), (_, is))| format!("{what} of the owner's cover: was {was} and is {is}"))
        .collect()
}

fn or_nothing(text: String) -> String {
    if text.is_empty() {
        "nothing".to_owned()
    } else {
        text
    }
}

/// Reads the table.
pub(super) fn read(mut table: Reader<'_>, faults: &mut Faults<'_>) -> CoverText {
    let title = table.text("title", faults);
    within(
        &title,
        TITLE_CHARS,
        ("title", table.place_of("title")),
        faults,
    );
    let lines = texts(&mut table, "lines", LINES, faults);
    let facts = match table.value("facts") {
        Some(_) => facts(&mut table, faults),
        None => Vec::new(),
    };
    let signed_by = texts(&mut table, "signed_by", SIGNERS, faults);
    let logo_sha256 = logo(&mut table, faults);
    table.finish(faults);
    CoverText {
        title,
        lines,
        facts,
        signed_by,
        logo_sha256,
    }
}

fn facts(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Vec<(CoverFact, String)> {
    let place = table.place_of("facts");
    let mut read: Vec<(CoverFact, String)> = Vec::new();
    let tables = table.tables("facts", faults);
    few(tables.len(), FACTS.0, ("facts", place), faults);
    for mut table in tables {
        let word = table.text("fact", faults);
        let fact = CoverFact::of(&word);
        if fact.is_none() && !word.is_empty() {
            let known = || COVER_FACTS.iter().map(|(word, ..)| *word);
            let near = did_you_mean(&word, known());
            let choices = listed(known());
            let message = format!("a cover knows no fact \"{word}\": one of {choices}{near}");
            faults.add(table.place_of("fact"), message);
        }
        if fact.is_some_and(|fact| read.iter().any(|(other, _)| *other == fact)) {
            let message = format!("fact \"{word}\" stands twice: take one out");
            faults.add(table.place_of("fact"), message);
        }
        let own = fact.map_or("", CoverFact::label);
        let label = table.text_or("label", own, faults);
        within(&label, FACTS.1, ("label", table.place_of("label")), faults);
        table.finish(faults);
        read.extend(fact.map(|fact| (fact, label)));
    }
    read
}

/// Short texts of a list.
fn texts(
    table: &mut Reader<'_>,
    key: &'static str,
    (most, most_chars): (usize, usize),
    faults: &mut Faults<'_>,
) -> Vec<String> {
    let texts = table.words(key, faults);
    few(texts.len(), most, (key, table.place_of(key)), faults);
    for (text, place) in &texts {
        if text.trim().is_empty() {
            faults.add(*place, format!("{key} has an empty text: take it out"));
        }
        within(text, most_chars, (key, *place), faults);
    }
    texts.into_iter().map(|(text, _)| text).collect()
}

fn logo(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> String {
    let digits = table.text_or("logo_sha256", "", faults);
    let is_digit = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
    if !digits.is_empty() && (digits.len() != 64 || !digits.chars().all(is_digit)) {
        let message = format!(
            "logo_sha256 has {} characters: write the 64 lower-case hexadecimal digits that \
             sha256sum prints of the picture",
            digits.chars().count()
        );
        faults.add(table.place_of("logo_sha256"), message);
    }
    digits
}

fn few(count: usize, most: usize, (key, place): (&str, usize), faults: &mut Faults<'_>) {
    if count > most {
        let message = format!("{key} has {count} entries, a cover takes {most} at most");
        faults.add(place, message);
    }
}

fn within(text: &str, most: usize, (key, place): (&str, usize), faults: &mut Faults<'_>) {
    let count = text.chars().count();
    if count > most {
        let message = format!("{key} has {count} characters, a cover takes {most} at most");
        faults.add(place, message);
    }
    if text.contains(['\n', '\r']) {
        faults.add(place, format!("{key} has a line break: write one line"));
    }
}
