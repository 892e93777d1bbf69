//! A camera that looks with the flow begins at the upstream manhole.

use obvert_proto::{
    Problem, Violation, acceptance::v1::Survey, common::v1::Direction, project::v1::Segment,
};
use obvert_records::{Named, names::id_of};

/// Refuses a survey that begins at another manhole than its direction implies.
///
/// # Errors
///
/// `FIELDS_INVALID` naming the manhole that is implied.
pub(super) fn check_start(survey: &Survey, named: &Named) -> Result<(), Problem> {
    let segment = named.get::<Segment>(&survey.segment).unwrap_or_default();
    let (implied, way) = match survey.direction() {
        Direction::AgainstFlow => (&segment.downstream_manhole, "against"),
        _ => (&segment.upstream_manhole, "with"),
    };
    if *implied == survey.from_manhole {
        return Ok(());
    }
    let message = format!(
        "is {}, a camera that goes {way} the flow begins segment {} at {implied}: correct manhole \
         or direction",
        survey.from_manhole,
        id_of(&survey.segment)
    );
    Err(Problem::fields(vec![Violation::new(
        "survey.from_manhole",
        message,
    )]))
}
