//! A document reaches its own files and nothing else.

use obvert_typeset::{Document, TypesetError, render};

use super::document_of;
use super::sample::sample_sheet;

/// The smallest picture: one grey pixel.
const PIXEL_PNG: &[u8] = &[
    0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52,
    0x00, 0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3a, 0x7e, 0x9b,
    0x55, 0x00, 0x00, 0x00, 0x0a, 0x49, 0x44, 0x41, 0x54, 0x78, 0x9c, 0x63, 0x68, 0x00, 0x00, 0x00,
    0x82, 0x00, 0x81, 0x77, 0xcd, 0x72, 0xb6, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae,
    0x42, 0x60, 0x82,
];

fn with_logo(logo: Vec<u8>) -> Document {
    let mut document = document_of(&sample_sheet());
    document.files.insert("owner/logo.svg".into(), logo);
    document
}

fn linking(target: &str) -> Vec<u8> {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><image width=\"9\" \
         height=\"9\" href=\"{target}\"/></svg>"
    )
    .into_bytes()
}

#[test]
fn a_file_that_the_data_names_and_nobody_gave_is_named_in_the_error() {
    let mut document = document_of(&sample_sheet());
    document.files.remove("plots/speed.svg");
    let error = render(&document).unwrap_err();
    assert!(matches!(error, TypesetError::Layout(_)));
    let said = error.to_string();
    assert!(
        said.contains("the data names the file 'plots/speed.svg'"),
        "{said}"
    );
    assert!(said.contains("was not given with the document"), "{said}");
}

#[test]
fn a_path_in_the_data_is_a_name_and_not_a_path() {
    for path in [
        "/data.json",
        "../../etc/hostname",
        "/etc/hostname",
        "files/0",
        "@local/x:1.0.0",
    ] {
        let mut sheet = sample_sheet();
        sheet.cure_logs[0].plots[0].file = path.into();
        let said = render(&document_of(&sheet)).unwrap_err().to_string();
        assert!(
            said.contains(&format!("the data names the file '{path}'")),
            "{said}"
        );
    }
}

#[test]
fn a_picture_cannot_pull_in_a_file_of_the_machine() {
    let folder = tempfile::tempdir().unwrap();
    let present = folder.path().join("present.png");
    std::fs::write(&present, PIXEL_PNG).unwrap();
    let absent = folder.path().join("absent.png");
    for (present, absent) in [
        (present.display().to_string(), absent.display().to_string()),
        (
            format!("file://{}", present.display()),
            format!("file://{}", absent.display()),
        ),
    ] {
        let found = render(&with_logo(linking(&present)));
        let not_found = render(&with_logo(linking(&absent)));
        match (found, not_found) {
            (Ok(found), Ok(not_found)) => assert!(found == not_found, "{present} was read"),
            (Err(found), Err(not_found)) => {
                let found = found.to_string().replace(&present, &absent);
                assert_eq!(found, not_found.to_string());
            }
            _ => panic!("a file of the machine changes the document"),
        }
    }
}

#[test]
fn a_file_that_is_no_picture_is_refused() {
    let error = render(&with_logo(b"neither SVG nor PNG".to_vec())).unwrap_err();
    assert!(
        error.to_string().contains("unknown image format"),
        "{error}"
    );
}

#[test]
fn more_files_than_allowed_are_refused_with_the_limit() {
    let mut document = document_of(&sample_sheet());
    for number in 0..=Document::FILE_COUNT_MAX {
        document
            .files
            .insert(format!("plots/{number}.svg"), Vec::new());
    }
    let count = document.files.len();
    let said = render(&document).unwrap_err().to_string();
    assert!(
        said.contains(&format!("{count} files, at most 1000 are allowed")),
        "{said}"
    );
}

#[test]
fn a_failed_document_leaves_the_next_one_whole() {
    let whole = render(&document_of(&sample_sheet())).unwrap();
    for _ in 0..3 {
        let mut broken = document_of(&sample_sheet());
        broken.files.clear();
        assert!(render(&broken).is_err());
    }
    assert!(render(&document_of(&sample_sheet())).unwrap() == whole);
}
