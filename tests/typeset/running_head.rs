//! What stands where on a page: one line above, one below, and between them nothing that runs over.

use std::{collections::BTreeSet, io::Read};

use obvert_typeset::{
    Document, Template,
    calculation_sheet::{CalculationSheet, Head},
    render,
};

use super::document_of;
use super::sample::sample_sheet;

/// How many rows of text stand in the head or foot of each page, the first page first.
fn row_counts(pdf: &[u8], which: &str) -> Vec<usize> {
    let begins = format!("/Subtype/{which}/Type/Pagination>>BDC");
    let pages = contents(pdf).into_iter().filter_map(|content| {
        let (_, rest) = content.split_once(&begins)?;
        let (part, _) = rest.split_once("EMC")?;
        let texts = part.split("BT").map(|before| before.rsplit_once(" cm"));
        let baseline = |before: &str| before.rsplit(' ').next().unwrap().to_owned();
        let mut rows: Vec<_> = texts
            .map(|text| text.map(|(before, _)| baseline(before)))
            .collect();
        // What comes after the last text is no text.
        rows.pop();
        Some(rows.into_iter().flatten().collect::<BTreeSet<_>>().len())
    });
    pages.collect()
}

/// Every stream of the PDF that unpacks to drawing of text.
fn contents(pdf: &[u8]) -> Vec<String> {
    let word = b"stream\n";
    let starts = (0..pdf.len() - word.len()).filter(|at| pdf[*at..].starts_with(word));
    let unpacked = starts.filter_map(|at| {
        let mut bytes = Vec::new();
        let mut packed = flate2::read::ZlibDecoder::new(&pdf[at + word.len()..]);
        packed.read_to_end(&mut bytes).ok()?;
        Some(String::from_utf8_lossy(&bytes).into_owned())
    });
    unpacked.filter(|text| text.contains(" Tm")).collect()
}

/// Asserts that every page but the first has one row above, and every page one below.
fn has_one_row_each(document: &Document) -> Vec<u8> {
    let pdf = render(document).unwrap();
    let heads = row_counts(&pdf, "Header");
    assert!(heads.len() > 1, "{heads:?}");
    assert_eq!(heads[0], 0, "the first page has a title");
    assert!(heads[1..].iter().all(|count| *count == 1), "{heads:?}");
    let feet = row_counts(&pdf, "Footer");
    assert!(feet.iter().all(|count| *count == 1), "{feet:?}");
    pdf
}

/// Five hundred characters, the most that a field takes.
fn long() -> String {
    "Renewal of rear easements, Quillfern Lane and all lanes beside it ".repeat(8)[..500].to_owned()
}

/// Height of the lower margin, in points, on which the last baseline may stand.
const LOWER_MARGIN: f64 = 57.6;

#[test]
fn the_contents_of_a_document_with_every_section_keep_above_the_foot_and_apart() {
    for more in [0, 1, 9] {
        let mut sheet = sample_sheet();
        let section = sheet.plugin_sections[0].clone();
        sheet.plugin_sections.extend(vec![section; more]);
        let pdf = render(&document_of(&sheet)).unwrap();
        let first = contents(&pdf).remove(0);
        let (body, _) = first.split_once("/Subtype/Footer").unwrap();
        let mut texts: Vec<&str> = body.split("BT").collect();
        texts.pop();
        let place = |text: &str| text.rsplit_once(" cm")?.0.rsplit(' ').next()?.parse().ok();
        let rows: Vec<f64> = texts.into_iter().filter_map(place).collect();
        let lowest = rows.iter().copied().fold(f64::MAX, f64::min);
        assert!(
            lowest > LOWER_MARGIN - 0.01,
            "{more} more: a row at {lowest}"
        );
    }
}

#[test]
fn a_title_of_any_length_takes_one_line_of_the_running_head() {
    for title in [
        "",
        "Quillfern Lane",
        &long(),
        &"x".repeat(500),
        "two\nlines\nand three",
    ] {
        let mut sheet = sample_sheet();
        sheet.cover.project_title = title.into();
        sheet.cover.owner_segment_id = "W".repeat(60);
        has_one_row_each(&document_of(&sheet));
    }
}

#[test]
fn names_of_any_length_take_one_line_of_the_head_and_foot_of_a_calculation_sheet() {
    let sheet = CalculationSheet {
        head: Head {
            project_title: long(),
            owner_segment_id: "W".repeat(60),
            record: format!("designs/{}@123456", "d".repeat(63)),
            revision: "commit 0123456789ab".into(),
            ..Head::default()
        },
        limits_of_method: vec![long(); 40],
        ..CalculationSheet::default()
    };
    let document = Document {
        template: Template::CalculationSheet,
        data: sheet.to_data().unwrap(),
        ident: format!("designs/{}@123456 of {}", "d".repeat(63), long()),
        ..document_of(&sample_sheet())
    };
    has_one_row_each(&document);
}
