//! The owner's own cover as its plan states it: read, refused, explained and compared.

use obvert_closeout::plan::{COVER_FACTS, CoverFact, FACTS, LINES, SIGNERS, changes, parse};

use super::plan::SMALL;

/// A cover, where the faults are looked for.
const COVER: &str = r#"[package.cover]
title = "Record of lining"
lines = ["Office of Sewers"]
facts = [
    { fact = "street", label = "Easement" },
    { fact = "diameter" },
]
signed_by = ["Inspector"]
"#;

/// The small plan under a cover.
fn under(cover: &str) -> String {
    format!("{cover}\n{SMALL}")
}

#[track_caller]
fn fault(text: &str, by: &str, (row, column): (i32, i32), says: &str) {
    assert!(COVER.contains(text), "{text}");
    let faults = parse(&under(&COVER.replacen(text, by, 1))).unwrap_err();
    let there = faults
        .iter()
        .any(|f| (f.row, f.column) == (row, column) && f.message.contains(says));
    assert!(there, "{by}: {faults:?}");
}

#[test]
fn facts_keep_the_owners_order_and_labels() {
    let plan = parse(&under(COVER)).unwrap();
    let cover = plan.package.cover.unwrap();
    let facts = [
        (CoverFact::Street, "Easement".to_owned()),
        (CoverFact::Diameter, "Diameter".to_owned()),
    ];
    assert_eq!(cover.facts, facts);
    assert_eq!(cover.lines, ["Office of Sewers"]);
    assert_eq!(cover.signed_by, ["Inspector"]);
    assert_eq!(cover.logo_sha256, "", "the project's");
    for (word, fact, label) in COVER_FACTS {
        assert_eq!(CoverFact::of(word), Some(*fact));
        assert_eq!((fact.word(), fact.label()), (*word, *label));
        assert!(label.chars().count() <= FACTS.1, "{label}");
    }
}

#[test]
fn an_unknown_or_doubled_word_of_a_cover_is_refused_with_its_place_and_a_suggestion() {
    let near = "did you mean \"diameter\"?";
    fault("\"diameter\"", "\"diametre\"", (6, 14), near);
    let near = "did you mean \"lines\"?";
    fault("lines =", "line =", (3, 1), near);
    let near = "did you mean \"facts\"?";
    fault("facts =", "fact =", (4, 1), near);
    let near = "did you mean \"label\"?";
    fault("label =", "labels =", (5, 24), near);
    fault("\"diameter\"", "\"street\"", (6, 14), "stands twice");
    let missing = "cover has no title";
    fault("title = \"Record of lining\"\n", "", (1, 1), missing);
}

#[test]
fn a_cover_that_would_not_be_one_page_is_refused_with_its_limit() {
    let long = format!("\"{}\"", "x".repeat(121));
    let says = "lines has 121 characters, a cover takes 120 at most";
    fault("\"Office of Sewers\"", &long, (3, 10), says);
    let many = format!("{}\"last\"", "\"Office\", ".repeat(LINES.0));
    let says = "lines has 9 entries, a cover takes 8 at most";
    fault("\"Office of Sewers\"", &many, (3, 9), says);
    let many = format!("{}\"last\"", "\"Inspector\", ".repeat(SIGNERS.0));
    let says = "signed_by has 7 entries, a cover takes 6 at most";
    fault("\"Inspector\"", &many, (8, 13), says);
    let all: Vec<_> = COVER_FACTS
        .iter()
        .map(|(word, ..)| format!("{{ fact = \"{word}\" }}"))
        .collect();
    assert!(all.len() > FACTS.0);
    let says = "facts has 31 entries, a cover takes 20 at most";
    fault(
        "{ fact = \"diameter\" }",
        &all[..30].join(", "),
        (4, 9),
        says,
    );
    let label = format!("\"{}\"", "x".repeat(41));
    let says = "label has 41 characters, a cover takes 40 at most";
    fault("\"Easement\"", &label, (5, 32), says);
    fault("of lining\"", "of\\nlining\"", (2, 9), "has a line break");
    fault(
        "\"Office of Sewers\"",
        "\" \"",
        (3, 10),
        "has an empty text",
    );
}

#[test]
fn a_logo_is_named_by_the_digits_that_sha256sum_prints() {
    let digits = "0123456789abcdef".repeat(4);
    let with = |logo: &str| {
        let key = format!("title = \"Record of lining\"\nlogo_sha256 = \"{logo}\"");
        parse(&under(&COVER.replacen(
            "title = \"Record of lining\"",
            &key,
            1,
        )))
    };
    let cover = with(&digits).unwrap().package.cover.unwrap();
    assert_eq!(cover.logo_sha256, digits);
    for wrong in ["logo.svg", &digits[1..], &digits.to_uppercase()] {
        let faults = with(wrong).unwrap_err();
        assert_eq!((faults[0].row, faults[0].column), (3, 15), "{wrong}");
        let message = &faults[0].message;
        assert!(
            message.contains("64 lower-case hexadecimal digits"),
            "{message}"
        );
    }
}

#[test]
fn a_cover_is_explained_and_a_change_of_it_told() {
    let before = parse(&under(COVER)).unwrap();
    let rows = before.package.cover.as_ref().unwrap().rows();
    let rows: Vec<_> = rows
        .iter()
        .map(|(what, is)| format!("{what}: {is}"))
        .collect();
    assert_eq!(
        rows,
        [
            "title: \"Record of lining\"",
            "lines: \"Office of Sewers\"",
            "facts: street as \"Easement\", diameter as \"Diameter\"",
            "rows to be signed by hand: \"Inspector\"",
            "logo: that of the project",
        ]
    );
    let other = COVER.replacen("signed_by = [\"Inspector\"]", "signed_by = []", 1);
    let other = parse(&under(&other)).unwrap();
    assert_eq!(
        changes(&before, &other),
        ["rows to be signed by hand of the owner's cover: was \"Inspector\" and is nothing"]
    );
    let without = parse(SMALL).unwrap();
    let gone = "the owner's cover \"Record of lining\" is taken out";
    assert_eq!(changes(&before, &without), [gone]);
    let new = "the owner's cover \"Record of lining\" is new";
    assert_eq!(changes(&without, &before), [new]);
}
