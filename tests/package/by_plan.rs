//! What the owner's plan makes of the document.

use obvert_closeout::{package::document, plan::parse};

use super::sample::{signed, signer, sources};
use crate::closeout::fixture::asked::ISO;

#[test]
fn the_document_lists_every_row_of_evidence_and_says_what_the_plan_changed_or_leaves_out() {
    let mut fixture = signed();
    fixture.plan = parse(ISO).unwrap();
    let mut sources = sources(&fixture);
    let change = "since plans/itp@1, by which cure-log stands: limit specimen_count was >= 3";
    sources.status.plan_changes = vec![change.to_owned()];
    let data = document(&sources, &signer()).unwrap().data;
    let rows = data["evidence"]["rows"].as_array().unwrap();
    let titles = rows
        .iter()
        .take(42)
        .map(|row| row["title"].as_str().unwrap());
    for (number, title) in titles.enumerate() {
        let row = format!("E{:02} ", number + 1);
        assert!(title.starts_with(&row), "{title}");
    }
    let words = data["points"]["count_in_words"].as_str().unwrap();
    assert!(
        words.contains("was changed after points were released by it"),
        "{words}"
    );
    assert!(words.contains("limit specimen_count was >= 3"), "{words}");
    let notes = data["cover"]["notes"].as_array().unwrap();
    let last = notes.last().unwrap().as_str().unwrap();
    assert!(
        last.contains("leaves out of this document: leak tests."),
        "{last}"
    );
    assert_eq!(data["left_out"].as_array().unwrap().len(), 1);
}
