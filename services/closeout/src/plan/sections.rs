//! `sections` of `[package]`: those that the document has beside the ones that every one has.
//!
//! What speaks for or against the segment is never left out: the chain from design to pipe, the
//! points, the nonconformances, the corrections and the list of evidence. Nor are records: the data
//! beside the document is whole.

use obvert_tables::{
    did_you_mean,
    toml_text::{Faults, Reader, listed},
};

/// Sections that a plan may leave out, in the document's order, with their titles.
pub const SECTIONS: &[(&str, &str)] = &[
    ("designs", "wall design"),
    ("cure-logs", "cure logs"),
    ("laboratory-reports", "laboratory reports"),
    ("papers", "papers and their comparisons"),
    ("leak-tests", "leak tests"),
    ("laterals", "laterals one by one"),
    ("samples", "samples and custody"),
];

/// Sections that the table does not name; none where it has no list.
pub(super) fn left_out(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Vec<&'static str> {
    let listed_here = table.has("sections");
    let words = table.words("sections", faults);
    let known = || SECTIONS.iter().map(|(word, _)| *word);
    for (word, place) in &words {
        if !known().any(|known| known == word) {
            let near = did_you_mean(word, known());
            let choices = listed(known());
            let message =
                format!("no section that may be left out is called \"{word}\": {choices}{near}");
            faults.add(*place, message);
        }
    }
    let named = |section: &&str| words.iter().any(|(word, _)| word == section);
    known()
        .filter(|section| listed_here && !named(section))
        .collect()
}

/// Titles of sections, for people.
pub(crate) fn titles(sections: &[&str]) -> String {
    let titles = SECTIONS.iter().filter(|(word, _)| sections.contains(word));
    let titles: Vec<_> = titles.map(|(_, title)| *title).collect();
    match titles.as_slice() {
        [] => "nothing".to_owned(),
        titles => titles.join(", "),
    }
}
