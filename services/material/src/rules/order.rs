//! An order names for each of its segments a design of that segment, at a revision it has had.

use obvert_proto::{
    Problem, Violation,
    design::v1::WallDesign,
    material::v1::{LinerOrder, OrderedSegment},
};
use obvert_records::Named;

/// Refuses designs of other segments and revisions that do not exist. A design that was revised
/// since the order read it is for closeout to find.
pub(super) fn check(order: &LinerOrder, named: &Named) -> Result<(), Problem> {
    let mut wrong = Vec::new();
    for (i, ordered) in order.segments.iter().enumerate() {
        let path = |field: &str| format!("liner_order.segments[{i}].{field}");
        if let Some(message) = other_segment(ordered, named) {
            wrong.push(Violation::new(path("design"), message));
        }
        if let Some(message) = unknown_revision(ordered, named) {
            wrong.push(Violation::new(path("design_revision"), message));
        }
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

fn other_segment(ordered: &OrderedSegment, named: &Named) -> Option<String> {
    let OrderedSegment {
        segment, design, ..
    } = ordered;
    let Some(read) = named.get::<WallDesign>(design) else {
        return Some(format!(
            "names {design}, which is no wall design: name the one of {segment}"
        ));
    };
    (read.segment != *segment).then(|| {
        format!(
            "names {design} of {}: name a design of {segment}",
            read.segment
        )
    })
}

fn unknown_revision(ordered: &OrderedSegment, named: &Named) -> Option<String> {
    let OrderedSegment {
        design,
        design_revision: read,
        ..
    } = ordered;
    let (first, last) = (named.create_revision(design), named.revision(design));
    (*read < first || *read > last).then(|| {
        format!("is {read}, {design} has revisions {first} to {last}: give the one that was read")
    })
}
