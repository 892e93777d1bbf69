//! Words that would claim more than a record can show.
//!
//! A cure log shows what a lamp train did, not what became of the resin; a wall within its tolerance is
//! just that. The same holds for a person's safety. So two words are never printed.

use super::{
    literals::{string_literals, without},
    tree::{Source, ends_in, sources},
};

const CLAIMS: [&str; 2] = ["cured", "safe"];
/// Where one of the words stands for something else: end of the path, and the text around it.
const ALLOWED: [(&str, &str); 0] = [];

/// Words in lower case; `un-safe` and `unsafe` are others.
fn claims(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut words = lower.split(|c: char| !c.is_alphanumeric() && c != '_' && c != '-');
    words.any(|word| CLAIMS.contains(&word))
}

/// What people get to read of a file: literals, help texts, and pages without their comments.
fn read_by_people(source: &Source) -> Vec<(usize, String)> {
    if ends_in(&source.path, &["html"]) {
        return vec![(
            1,
            without(&without(&source.text, "{#", "#}"), "<!--", "-->"),
        )];
    }
    if ends_in(&source.path, &["typ"]) {
        let rows = source.text.lines().enumerate();
        let rows = rows.filter(|(_, row)| !row.trim_start().starts_with("//"));
        return rows.map(|(at, row)| (at + 1, row.to_owned())).collect();
    }
    let mut read = string_literals(&source.text);
    if source.path.ends_with("args.rs") {
        let rows = source.text.lines().enumerate();
        let help = rows.filter(|(_, row)| row.trim_start().starts_with("///"));
        read.extend(help.map(|(at, row)| (at + 1, row.to_owned())));
    }
    read
}

#[test]
fn nothing_printed_says_that_a_liner_is_cured_or_anything_is_safe() {
    let mut read = 0;
    let mut found = Vec::new();
    for folder in ["proto", "services", "clients", "demo"] {
        for source in sources(folder) {
            if !ends_in(&source.path, &["rs", "html", "typ"]) {
                continue;
            }
            for (row, text) in read_by_people(&source) {
                let allowed = |(path, said): &(&str, &str)| {
                    source.path.ends_with(path) && text.contains(said)
                };
                read += 1;
                if claims(&text) && !ALLOWED.iter().any(allowed) {
                    found.push(format!("{}:{row}: {}", source.path, text.trim()));
                }
            }
        }
    }
    assert!(read > 1_000, "only {read} texts were read");
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn the_two_words_are_found_in_a_sentence_and_not_inside_another_word() {
    assert!(claims("The liner is Cured."));
    assert!(claims("it is safe to enter"));
    assert!(!claims("unsafe, safely, secured, formula-safe"));
}
