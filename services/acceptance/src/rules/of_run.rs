//! Whether a sample or a test is of the run it names.

use obvert_proto::{
    Problem, Violation,
    acceptance::v1::{LeakTest, Sample},
    installation::v1::Run,
};
use obvert_records::{Named, names::id_of};

/// Refuses a sample of a segment or a manhole that its run does not pass.
///
/// # Errors
///
/// `FIELDS_INVALID` naming each.
pub(super) fn check_sample(sample: &Sample, named: &Named) -> Result<(), Problem> {
    let run = named.get::<Run>(&sample.run).unwrap_or_default();
    let mut wrong: Vec<_> = segment("sample.segment", &sample.segment, &sample.run, &run)
        .into_iter()
        .collect();
    if !run.manholes.contains(&sample.manhole) {
        let message = format!(
            "is {}, run {} passes {}: name the manhole it was cut at",
            sample.manhole,
            id_of(&sample.run),
            run.manholes.join(", ")
        );
        wrong.push(Violation::new("sample.manhole", message));
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

/// Refuses a leak test of a segment that its run does not line.
///
/// # Errors
///
/// `FIELDS_INVALID` naming the segment.
pub(super) fn check_leak_test(test: &LeakTest, named: &Named) -> Result<(), Problem> {
    let run = named.get::<Run>(&test.run).unwrap_or_default();
    match segment("leak_test.segment", &test.segment, &test.run, &run) {
        Some(wrong) => Err(Problem::fields(vec![wrong])),
        None => Ok(()),
    }
}

fn segment(field: &str, name: &String, run_name: &str, run: &Run) -> Option<Violation> {
    (!run.segments.contains(name)).then(|| {
        let message = format!(
            "is {}, which run {} does not line: name a segment of the run",
            id_of(name),
            id_of(run_name)
        );
        Violation::new(field, message)
    })
}
