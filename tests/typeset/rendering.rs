//! A filled sheet becomes one PDF, always the same.

use std::process::Command;

use obvert_typeset::{Document, Paper, TypesetError, render};
use sha2::{Digest, Sha256};

use super::sample::sample_sheet;
use super::{document_of, holds};

const CHILD: &str = "OBVERT_TYPESET_CHILD";

fn digest(document: &Document) -> String {
    let digest = Sha256::digest(render(document).unwrap());
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn a_filled_sheet_becomes_an_archivable_and_accessible_pdf() {
    let pdf = render(&document_of(&sample_sheet())).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7"));
    for marker in [
        "<pdfaid:part>2</pdfaid:part>",
        "<pdfaid:conformance>A</pdfaid:conformance>",
        "<pdfuaid:part>1</pdfuaid:part>",
        "/Marked true",
        "/Lang(en-US)",
        "/Type/OutputIntent",
        "<xmp:CreateDate>2026-06-18T20:42:00+00:00",
    ] {
        assert!(holds(&pdf, marker), "the PDF lacks {marker}");
    }
}

#[test]
fn every_section_and_every_plot_is_announced_to_a_reader_who_cannot_see() {
    let pdf = render(&document_of(&sample_sheet())).unwrap();
    for title in [
        "1 From design to pipe",
        "2 Hold, witness and review points",
        "3 Design",
        "4 Cure log",
        "5 Laboratory results",
        "6 Papers and their grades",
        "7 Leak test",
        "8 Laterals",
        "9 Samples and custody",
        "10 Nonconformances",
        "11 Hours on site",
        "12 Changes since the last package",
        "13 Corrections",
        "14 Evidence index",
        "15 Cautions",
        "16 How to verify this package",
    ] {
        assert!(
            holds(&pdf, &format!("/Title({title})")),
            "no bookmark '{title}'"
        );
    }
    assert!(holds(&pdf, "/Alt(Line plot: travel speed stays near 1.2 m"));
    assert!(holds(&pdf, "/Alt(Mark of the Marrowby Sanitary District"));
}

#[test]
fn a_section_that_is_left_out_is_not_printed_and_the_others_are_numbered_on() {
    let mut sheet = sample_sheet();
    sheet.left_out = vec!["leak-tests".into(), "papers".into()];
    let pdf = render(&document_of(&sheet)).unwrap();
    for title in ["5 Laboratory results", "6 Laterals", "8 Nonconformances"] {
        assert!(holds(&pdf, &format!("/Title({title})")), "no '{title}'");
    }
    for title in ["Leak test", "Papers and their grades"] {
        assert!(!holds(&pdf, &format!("{title})")), "'{title}' is printed");
    }
}

#[test]
fn the_sheet_is_letter_or_a4_and_its_wide_tables_lie_across() {
    let letter = document_of(&sample_sheet());
    let a4 = Document {
        paper: Paper::A4,
        ..letter.clone()
    };
    let letter = render(&letter).unwrap();
    assert!(holds(&letter, "/MediaBox[0 0 612 792]") && holds(&letter, "/MediaBox[0 0 792 612]"));
    let a4 = render(&a4).unwrap();
    assert!(holds(&a4, "/MediaBox[0 0 595.27") && holds(&a4, "/MediaBox[0 0 841.88"));
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let first = digest(&document_of(&sample_sheet()));
    assert_eq!(first, digest(&document_of(&sample_sheet())));
    let later = Document {
        time_unix_s: 1_781_815_321,
        ..document_of(&sample_sheet())
    };
    assert_ne!(first, digest(&later));
}

/// Runs itself again as another process, which has other hash seeds and an empty cache.
#[test]
fn another_process_gives_the_same_bytes() {
    let digest = digest(&document_of(&sample_sheet()));
    if std::env::var_os(CHILD).is_some() {
        assert!(
            std::env::var(CHILD).unwrap() == digest,
            "this process gives {digest}"
        );
        return;
    }
    let name = "typeset::rendering::another_process_gives_the_same_bytes";
    let child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", name])
        .env(CHILD, &digest)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&child.stdout);
    assert!(
        child.status.success() && said.contains("1 passed"),
        "{said}"
    );
}

#[test]
fn documents_rendered_side_by_side_do_not_touch_each_other() {
    let letter = document_of(&sample_sheet());
    let a4 = Document {
        paper: Paper::A4,
        ..letter.clone()
    };
    let alone = [digest(&letter), digest(&a4)];
    assert_ne!(alone[0], alone[1]);
    std::thread::scope(|scope| {
        let runs: Vec<_> = (0..6)
            .map(|run| {
                let document = if run % 2 == 0 { &letter } else { &a4 };
                scope.spawn(move || digest(document))
            })
            .collect();
        for (run, digest) in runs.into_iter().enumerate() {
            assert_eq!(digest.join().unwrap(), alone[run % 2]);
        }
    });
}

#[test]
fn an_empty_sheet_is_printed_and_says_that_nothing_is_recorded() {
    let sheet = obvert_typeset::segment_sheet::SegmentSheet::default();
    let pdf = render(&document_of(&sheet)).unwrap();
    assert!(holds(&pdf, "/Title(8 Laterals)"));
}

#[test]
fn a_time_that_no_pdf_can_state_is_refused() {
    for time_unix_s in [i64::MIN, -70_000_000_000, i64::MAX] {
        let document = Document {
            time_unix_s,
            ..document_of(&sample_sheet())
        };
        let error = render(&document).unwrap_err();
        assert!(
            matches!(error, TypesetError::TimeOutOfRange { .. }),
            "{error}"
        );
        assert!(error.to_string().contains(&time_unix_s.to_string()));
    }
}
