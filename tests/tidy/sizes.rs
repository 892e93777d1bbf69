//! Sizes of files. The length of a function is clippy's matter.

use super::tree::{ends_in, sources};

const MOST_ROWS: usize = 400;

#[test]
fn no_file_is_longer_than_four_hundred_rows() {
    let long: Vec<String> = sources("")
        .iter()
        .filter(|source| ends_in(&source.path, &["rs", "proto", "py", "html", "typ", "css"]))
        .filter(|source| source.text.lines().count() > MOST_ROWS)
        .map(|source| format!("{} has {}", source.path, source.text.lines().count()))
        .collect();
    assert!(
        long.is_empty(),
        "split what has more than {MOST_ROWS} rows: {long:#?}"
    );
}
