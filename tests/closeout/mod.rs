//! The owner's plan over the file of an invented segment: what releases it, and what holds it.

mod at_the_pipe;
mod before_ordering;
mod before_pull_in;
mod beside_the_wall;
mod evidence_present;
mod example_plans;
pub(crate) mod fixture;
mod invariants;
mod laboratory;
mod lapses;
mod lined;
mod moved;
mod paper_grades;
pub(crate) mod plan;
mod plan_bounds;
mod plan_cover;
mod plan_editions;
mod plan_misfits;
mod plan_words;
mod plug_in;
mod reader_words;
mod releases;
mod sampling;
mod status_room;
mod statuses;
mod stored;
mod surveys_and_lots;
mod traced;
mod twelve_ways;
mod workflow;

use fixture::{Fixture, paper, point_of as point, work};
use obvert_proto::closeout::v1::{PointState, PointStatus};

/// Codes of the findings that hold a point.
fn holding(status: &PointStatus) -> Vec<&str> {
    status
        .findings
        .iter()
        .filter(|f| f.holds)
        .map(|f| f.code.as_str())
        .collect()
}

/// Spoils the clean segment and asserts that the point is held with the code, by a finding that
/// names the record; an empty record asks for a finding about something missing.
fn held(spoil: impl FnOnce(&mut Fixture), id: &str, code: &str, record: &str) {
    let mut fixture = Fixture::clean();
    spoil(&mut fixture);
    held_in(&fixture, id, code, record);
}

fn held_in(fixture: &Fixture, id: &str, code: &str, record: &str) {
    let status = fixture.status();
    let status = point(&status, id);
    assert_eq!(
        status.state(),
        PointState::Held,
        "{id}: {:?}",
        status.findings
    );
    let of_code: Vec<_> = status
        .findings
        .iter()
        .filter(|f| f.holds && f.code == code)
        .collect();
    assert!(
        !of_code.is_empty(),
        "{id} is held by {:?}, not by {code}",
        holding(status)
    );
    let named = |f: &&obvert_proto::common::v1::Finding| {
        f.records
            .iter()
            .any(|r| r.name.ends_with(record) && r.revision > 0)
    };
    let missing = record.is_empty() && code.starts_with("missing-");
    assert!(
        missing || of_code.iter().any(named),
        "{code} does not name {record}: {of_code:?}"
    );
}

/// Changes the clean segment and asserts that the point is still past.
fn past(change: impl FnOnce(&mut Fixture), id: &str) {
    let mut fixture = Fixture::clean();
    change(&mut fixture);
    let status = fixture.status();
    let status = point(&status, id);
    assert_eq!(
        status.state(),
        PointState::Released,
        "{id}: {:?}",
        status.findings
    );
}
