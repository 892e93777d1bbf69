//! Text of the data stays text.

use std::collections::BTreeMap;

use obvert_typeset::{Document, TypesetError, render};
use serde_json::Value;

use super::sample::sample_sheet;
use super::{document_of, holds};

/// Each would do something if it were read as markup or code.
const HOSTILE: [&str; 9] = [
    "#evil[",
    "$x$",
    "*strong* _emph_",
    "= heading",
    "#read",
    "<label> @reference",
    "`raw` ~ --- ...",
    "]}#{[",
    "#panic[]",
];

#[test]
fn markup_in_the_data_is_printed_as_it_stands() {
    for hostile in HOSTILE {
        let mut sheet = sample_sheet();
        // The run's name stands in a heading, and headings are copied into the bookmarks from the
        // laid-out text.
        sheet.cure_logs[0].run = hostile.into();
        let pdf = render(&document_of(&sheet)).unwrap();
        assert!(
            holds(&pdf, &format!("/Title(4.1 Run {hostile})")),
            "{hostile} was changed"
        );
    }
}

#[test]
fn every_field_of_the_sheet_takes_hostile_text() {
    for hostile in HOSTILE {
        let mut data = sample_sheet().to_data().unwrap();
        poison(&mut data, hostile);
        let document = Document {
            data,
            ..document_of(&sample_sheet())
        };
        render(&document).unwrap_or_else(|error| panic!("{hostile}: {error}"));
    }
}

/// Appends the text to every string that is neither a shape nor a file's name.
fn poison(value: &mut Value, hostile: &str) {
    match value {
        Value::String(text) => text.push_str(hostile),
        Value::Array(values) => values.iter_mut().for_each(|value| poison(value, hostile)),
        Value::Object(fields) => {
            for (name, value) in fields.iter_mut() {
                if name != "mark" && name != "file" {
                    poison(value, hostile);
                }
            }
        }
        _ => {}
    }
}

#[test]
fn a_character_without_a_glyph_is_printed_as_its_code_point() {
    let mut sheet = sample_sheet();
    sheet.cure_logs[0].run = "r\u{4e2d}\u{202e}\u{0}x\u{e000}".into();
    let pdf = render(&document_of(&sheet)).unwrap();
    assert!(holds(
        &pdf,
        "/Title(4.1 Run r[U+4E2D][U+202E][U+0000]x[U+E000])"
    ));
}

#[test]
fn very_long_text_does_not_stop_the_document() {
    let mut sheet = sample_sheet();
    sheet.points.rows[0].findings = vec!["a finding that goes on ".repeat(800)];
    sheet.points.rows[0].id = "x".repeat(3_000);
    sheet.evidence.rows = (0..40).flat_map(|_| sheet.evidence.rows.clone()).collect();
    let pdf = render(&document_of(&sheet)).unwrap();
    assert!(holds(&pdf, "/Title(16 How to verify this package)"));
}

#[test]
fn data_of_another_shape_is_refused_with_the_missing_field() {
    let document = Document {
        data: serde_json::json!({ "cover": {} }),
        files: BTreeMap::new(),
        ..document_of(&sample_sheet())
    };
    let error = render(&document).unwrap_err();
    let TypesetError::Layout(diagnostics) = &error else {
        panic!("{error}")
    };
    assert!(!diagnostics.is_empty());
    assert!(
        error
            .to_string()
            .starts_with("the document could not be laid out: "),
        "{error}"
    );
    assert!(
        error.to_string().contains("does not contain key"),
        "{error}"
    );
    assert!(
        diagnostics[0]
            .place
            .as_ref()
            .is_some_and(|place| place.contains(".typ line "))
    );
}
