//! A deviation is found, disposed of and closed, in this order and by somebody.

use obvert_proto::{
    Violation,
    acceptance::v1::{Disposition, Nonconformance},
    dates::unix_ms,
};
use obvert_records::names;

pub(super) fn check(found: &Nonconformance) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let mut push = |field: &str, message: &str| wrong.push(Violation::new(field, message));
    let decided = found.disposition() != Disposition::Unspecified;
    let given = [
        ("disposed_by", !found.disposed_by.is_empty()),
        ("disposed_time", found.disposed_time.is_some()),
        ("justification", !found.justification.is_empty()),
    ];
    for (field, given) in given {
        match (decided, given) {
            (true, false) => push(field, "is missing: a disposition needs who, when and why"),
            (false, true) => push(field, "is given without a disposition: say what is done"),
            _ => {}
        }
    }
    match (&found.close_time, found.closed_by.is_empty()) {
        (Some(_), true) => push("closed_by", "is missing: say who closed it"),
        (None, false) => push(
            "closed_by",
            "is given without close_time: say when it was closed",
        ),
        _ => {}
    }
    if found.close_time.is_some() && !decided {
        push(
            "disposition",
            "is missing: what is not decided cannot be closed",
        );
    }
    let at = |time: &Option<prost_types::Timestamp>| time.as_ref().map(unix_ms);
    let (seen, disposed, closed) = (
        at(&found.found_time),
        at(&found.disposed_time),
        at(&found.close_time),
    );
    if seen
        .zip(disposed)
        .is_some_and(|(seen, disposed)| disposed < seen)
    {
        push(
            "disposed_time",
            "lies before found_time: correct one of the two",
        );
    }
    if seen
        .zip(closed)
        .is_some_and(|(seen, closed)| closed <= seen)
    {
        push(
            "close_time",
            "does not lie after found_time: correct one of the two",
        );
    }
    if disposed
        .zip(closed)
        .is_some_and(|(disposed, closed)| closed < disposed)
    {
        push(
            "close_time",
            "lies before disposed_time: correct one of the two",
        );
    }
    wrong.extend(subjects(found));
    wrong
}

fn subjects(found: &Nonconformance) -> Vec<Violation> {
    let mut wrong = Vec::new();
    for (index, name) in found.subjects.iter().enumerate() {
        if found.subjects[..index].contains(name) {
            let message = format!("repeats {name}: name it once");
            wrong.push(Violation::new(format!("subjects[{index}]"), message));
        }
    }
    let segment = |name: &String| names::parse(name).is_some_and(|p| p.collection == "segments");
    if !found.subjects.is_empty() && !found.subjects.iter().any(segment) {
        wrong.push(Violation::new(
            "subjects",
            "names no segment: name the one it was found in",
        ));
    }
    wrong
}
