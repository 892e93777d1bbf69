//! What must hold across the fields of one record, beyond what the schema says of each.

mod day_close;
mod outcome;
mod run;

use obvert_proto::{
    Violation,
    installation::v1::{Record, record::Body},
};

/// Violations across the fields of one record.
pub(crate) fn check(record: &Record) -> Vec<Violation> {
    match &record.body {
        Some(Body::Run(run)) => run::check(run),
        Some(Body::LateralOutcome(outcome)) => outcome::check(outcome),
        Some(Body::DayClose(close)) => day_close::check(close),
        Some(Body::CureRecord(_)) | None => Vec::new(),
    }
}

/// Elements of a list that stand in it before, each as a violation.
fn repeated<'a>(
    list: impl Iterator<Item = &'a str> + Clone,
    path: impl Fn(usize) -> String,
) -> Vec<Violation> {
    let again =
        |(index, name): &(usize, &str)| list.clone().take(*index).any(|other| other == *name);
    let found = list.clone().enumerate().filter(again);
    found
        .map(|(index, name)| Violation::new(path(index), format!("repeats {name}: name it once")))
        .collect()
}
