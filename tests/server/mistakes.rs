//! What the command line says to a person who mistyped something.

use std::{path::Path, process::Command};

use super::support::program;

/// Exit code and what was printed on standard error, in a folder.
fn said(folder: &Path, words: &[&str]) -> (Option<i32>, String) {
    let ended = Command::new(program("obvert"))
        .args(words)
        .current_dir(folder)
        .output()
        .expect("the command runs");
    let text = String::from_utf8_lossy(&ended.stderr).into_owned();
    (ended.status.code(), text)
}

#[test]
fn a_file_that_is_not_there_is_told_apart_from_a_folder_that_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let (code, text) = said(folder.path(), &["package", "verify", "nope.zip"]);
    assert_eq!(code, Some(4), "{text}");
    assert_eq!(
        text,
        "obvert: nope.zip: there is no such file: correct the path\n"
    );
    let (code, text) = said(folder.path(), &["package", "verify", "packages/nope.zip"]);
    assert_eq!(code, Some(4), "{text}");
    assert!(text.contains("its folder does not exist"), "{text}");
}

#[test]
fn what_is_no_fingerprint_is_not_looked_for_as_a_file() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("p.zip"), "no package").expect("written");
    let (code, text) = said(
        folder.path(),
        &["package", "verify", "p.zip", "--key", "88bd5e"],
    );
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("neither a fingerprint"), "{text}");
}

#[test]
fn one_of_two_ways_that_a_command_needs_is_asked_for_by_both_names() {
    let folder = tempfile::tempdir().expect("a folder");
    let paper = ["paper", "check", "projects/p/documents/d"];
    let (code, text) = said(folder.path(), &paper);
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("--agrees|--differs"), "{text}");
    let (code, text) = said(folder.path(), &["wall-design", "check-all"]);
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("--project"), "{text}");
}

#[test]
fn an_id_without_its_project_is_no_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let words = ["wall-design", "sheet", "d-1", "--out", "sheet.pdf"];
    let (code, text) = said(folder.path(), &words);
    assert_eq!(code, Some(2), "{text}");
    assert!(text.contains("write the full name"), "{text}");
}
