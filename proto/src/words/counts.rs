//! Counted words.

use std::fmt::Display;

/// "1 lateral", "2 laterals".
pub fn counted<N: Display + PartialEq + From<u8>>(count: N, one: &str, many: &str) -> String {
    let noun = if count == N::from(1) { one } else { many };
    format!("{count} {noun}")
}

/// Counts with their words, such as "3 released, 1 held"; those of nothing say nothing.
pub fn counts<'a>(counted: impl IntoIterator<Item = (usize, &'a str)>) -> String {
    let told = counted.into_iter().filter(|(count, _)| *count > 0);
    let told: Vec<_> = told
        .map(|(count, words)| format!("{count} {words}"))
        .collect();
    told.join(", ")
}
