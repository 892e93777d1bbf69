//! The nearest known word to one that is not known.

/// Letters of a word per edit that still counts as a slip.
const LETTERS_PER_EDIT: usize = 3;
/// Letters compared at most.
const LONGEST: usize = 80;

/// `; did you mean "…"?`, or nothing when no known word is near.
pub(super) fn did_you_mean<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> String {
    let reach = ((word.chars().count() + 1) / LETTERS_PER_EDIT).max(1);
    let near = known.into_iter().map(|other| (edits(word, other), other));
    match near.filter(|(edits, _)| *edits <= reach).min() {
        Some((_, other)) => format!("; did you mean \"{other}\"?"),
        None => String::new(),
    }
}

/// Letters to insert, drop or change to turn one word into the other.
fn edits(from: &str, to: &str) -> usize {
    let from: Vec<char> = from.chars().take(LONGEST).collect();
    let to: Vec<char> = to.chars().take(LONGEST).collect();
    let mut above: Vec<usize> = (0..=to.len()).collect();
    for (row, left) in from.iter().enumerate() {
        let mut here = vec![row + 1];
        for (column, right) in to.iter().enumerate() {
            let change = above[column] + usize::from(left != right);
            here.push(change.min(above[column + 1] + 1).min(here[column] + 1));
        }
        above = here;
    }
    above[to.len()]
}
