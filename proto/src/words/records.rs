//! Words for kinds of records and steps.

/// A kind of record as people read it: `laboratory-report` as "laboratory report", `cctv-survey` as
/// "CCTV survey", `pull-in-check` as "pull-in check".
pub fn kind_in_words(kind: &str) -> String {
    let spaced = kind.replace('-', " ").replace("cctv", "CCTV");
    let whole = ["pull-in", "plug-in", "pre-cure"].into_iter();
    whole.fold(spaced, |words, word| {
        words.replace(&word.replace('-', " "), word)
    })
}
