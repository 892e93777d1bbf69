//! The nearest known word to one that is not known.

/// Letters for which one edit still counts as a slip of the keyboard.
const LETTERS_PER_EDIT: usize = 3;

/// `; did you mean "…"?` with the nearest of the known words, or nothing when none is near.
pub fn did_you_mean<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let near =
        |other: &&str| distance(word, other) <= word.chars().count().div_ceil(LETTERS_PER_EDIT);
    let nearest = known
        .into_iter()
        .filter(near)
        .min_by_key(|other| distance(word, other));
    nearest.map_or(String::new(), |other| format!("; did you mean {other:?}?"))
}

/// Levenshtein distance without regard to case; capped work, since words of maps are short.
fn distance(a: &str, b: &str) -> usize {
    let letters = |text: &str| {
        text.chars()
            .take(100)
            .flat_map(char::to_lowercase)
            .collect::<Vec<_>>()
    };
    let (a, b) = (letters(a), letters(b));
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, left) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, right) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(left != right);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
