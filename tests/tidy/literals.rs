//! Text that people get to read, taken out of a source file.

/// String literals of a Rust file, with the row each begins on.
pub(super) fn string_literals(text: &str) -> Vec<(usize, String)> {
    let bytes = text.as_bytes();
    let (mut at, mut row) = (0, 1);
    let mut found = Vec::new();
    while at < bytes.len() {
        let end = token_end(text, at);
        let token = &text[at..end];
        if token.starts_with(['"', 'r']) && token.len() > 1 && token.ends_with(['"', '#']) {
            found.push((row, token.to_owned()));
        }
        row += token.matches('\n').count();
        at = end;
    }
    found
}

/// End of what begins at `at`: a comment, a string, a character, a word, or one character.
fn token_end(text: &str, at: usize) -> usize {
    let rest = &text[at..];
    let to = |found: Option<usize>, length: usize| found.map_or(text.len(), |n| at + n + length);
    if rest.starts_with("//") {
        return to(rest.find('\n'), 0);
    }
    if rest.starts_with("/*") {
        return to(rest.find("*/"), 2);
    }
    if rest.starts_with('"') {
        return at + quoted(rest);
    }
    if rest.starts_with("r\"") || rest.starts_with("r#") {
        let hashes = rest[1..].bytes().take_while(|b| *b == b'#').count();
        if rest[1 + hashes..].starts_with('"') {
            let close = format!("\"{}", "#".repeat(hashes));
            let body = 2 + hashes;
            return to(rest[body..].find(&close), body + close.len());
        }
    }
    if let Some(after) = rest.strip_prefix('\'') {
        return at + 1 + character(after);
    }
    let word = rest
        .bytes()
        .take_while(|b| b.is_ascii_alphanumeric() || *b == b'_')
        .count();
    if word > 0 {
        at + word
    } else {
        at + rest.chars().next().map_or(1, char::len_utf8)
    }
}

/// Length of a string literal that begins here.
fn quoted(rest: &str) -> usize {
    let bytes = rest.as_bytes();
    let mut at = 1;
    while at < bytes.len() && bytes[at] != b'"' {
        at += if bytes[at] == b'\\' { 2 } else { 1 };
    }
    (at + 1).min(rest.len())
}

/// Length of a character literal behind its first quote; nothing when it is a lifetime.
fn character(after: &str) -> usize {
    if after.starts_with('\\') {
        return after[2..].find('\'').map_or(0, |n| n + 3);
    }
    let first = after.chars().next().map_or(0, char::len_utf8);
    if after[first..].starts_with('\'') {
        first + 1
    } else {
        0
    }
}

/// A text without what stands between two marks, such as the comments of a page.
pub(super) fn without(text: &str, open: &str, close: &str) -> String {
    let mut kept = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(open) {
        kept.push_str(before);
        rest = after.split_once(close).map_or("", |(_, behind)| behind);
    }
    kept + rest
}

#[test]
fn literals_are_told_from_comments_lifetimes_and_characters() {
    let text = concat!(
        "// \"a comment\"\nfn f<'a>(x: &'a str) -> char { '\"' }\n",
        "/* \"another\" */ let s = \"one \\\" two\"; let c = '\\'';\n",
        "let r = r#\"raw \" text\"#; let url = \"http://x\";\n",
    );
    let found = string_literals(text);
    let expected = [
        (3, r#""one \" two""#),
        (4, "r#\"raw \" text\"#"),
        (4, "\"http://x\""),
    ];
    assert_eq!(
        found,
        expected.map(|(row, literal)| (row, literal.to_owned()))
    );
}
