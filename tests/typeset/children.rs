//! Typesetting by children: the same bytes, and nothing that a child does harms who asks.

use std::{path::PathBuf, time::Duration};

use obvert_typeset::{ChildLimits, Children, TypesetError, Typesetter, render};

use super::{document_of, sample};
use crate::server::support::program;

const LIMITS: ChildLimits = ChildLimits {
    deadline: Duration::from_secs(60),
    memory_bytes: 2 << 30,
    pdf_bytes: 64 << 20,
};

fn children(program: PathBuf, limits: ChildLimits) -> Typesetter {
    Typesetter::Children(Children::new(program, limits))
}

/// Why a child did not answer.
fn failed(typesetter: &Typesetter) -> String {
    match typesetter.render(&document_of(&sample::sample_sheet())) {
        Err(TypesetError::Child(what) | TypesetError::TooLarge(what)) => what,
        other => panic!("{:?}", other.map(|pdf| pdf.len())),
    }
}

#[test]
fn a_child_gives_the_same_bytes_again_and_again() {
    let typesetter = children(program("obvertd"), LIMITS);
    let document = document_of(&sample::sample_sheet());
    let here = render(&document).unwrap();
    for _ in 0..2 {
        assert!(typesetter.render(&document).unwrap() == here);
    }
}

#[test]
fn a_refused_document_is_refused_in_the_same_words_and_the_next_one_is_typeset() {
    let typesetter = children(program("obvertd"), LIMITS);
    let mut wrong = document_of(&sample::sample_sheet());
    wrong.time_unix_s = i64::MAX;
    let here = render(&wrong).unwrap_err().to_string();
    let there = typesetter.render(&wrong).unwrap_err();
    assert!(matches!(there, TypesetError::Refused(_)), "{there:?}");
    assert_eq!(there.to_string(), here);
    assert!(
        typesetter
            .render(&document_of(&sample::sample_sheet()))
            .is_ok()
    );
}

#[test]
fn a_child_past_its_deadline_is_stopped_and_said_to_be_late() {
    let deadline = Duration::from_millis(1);
    let late = children(program("obvertd"), ChildLimits { deadline, ..LIMITS });
    assert!(failed(&late).contains("took longer than"));
}

#[test]
fn a_child_without_enough_memory_ends_and_says_nothing_wrong() {
    let memory_bytes = 48 << 20;
    let starved = children(
        program("obvertd"),
        ChildLimits {
            memory_bytes,
            ..LIMITS
        },
    );
    let what = failed(&starved);
    assert!(
        what.contains("ended") || what.contains("does not take"),
        "{what}"
    );
}

#[test]
fn a_document_larger_than_the_limit_is_refused() {
    let small = children(
        program("obvertd"),
        ChildLimits {
            pdf_bytes: 1_000,
            ..LIMITS
        },
    );
    assert!(failed(&small).contains("at most"));
}

#[test]
fn a_program_that_is_no_worker_is_a_failure_and_no_document() {
    for other in ["/bin/cat", "/bin/true", "/usr/bin/yes", "/nowhere/at/all"] {
        let deadline = Duration::from_secs(2);
        let typesetter = children(other.into(), ChildLimits { deadline, ..LIMITS });
        assert!(!failed(&typesetter).is_empty(), "{other}");
    }
}
