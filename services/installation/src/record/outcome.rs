//! What became of a lateral, and the evidence that it takes.

use obvert_proto::{
    Violation,
    dates::unix_ms,
    installation::v1::{LateralOutcome, ReopeningOutcome},
};

pub(super) fn check(outcome: &LateralOutcome) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let mut push = |field: &str, message: &str| wrong.push(Violation::new(field, message));
    let open = outcome.outcome() == ReopeningOutcome::Open;
    match (open, outcome.opened_time.is_some()) {
        (true, false) => push(
            "opened_time",
            "is missing: say when the lateral was cut open",
        ),
        (false, true) => push(
            "opened_time",
            "is given for a lateral that was not cut open",
        ),
        _ => {}
    }
    let stays_shut = matches!(
        outcome.outcome(),
        ReopeningOutcome::LeftClosedByDirection | ReopeningOutcome::OwnerAbandoned
    );
    if stays_shut && outcome.direction_document.is_empty() {
        push(
            "direction_document",
            "is missing: name the owner's written direction",
        );
    }
    if let Some(seen) = &outcome.flow_seen_time {
        if outcome.flow_media.is_empty() {
            push(
                "flow_media",
                "is empty: flow that was seen needs a photograph or a film",
            );
        }
        if outcome
            .opened_time
            .as_ref()
            .is_some_and(|cut| unix_ms(seen) < unix_ms(cut))
        {
            push(
                "flow_seen_time",
                "lies before opened_time: correct one of the two",
            );
        }
    }
    wrong
}
