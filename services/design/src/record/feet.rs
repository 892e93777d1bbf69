//! Heights in feet where metres belong: two that stand in the ratio of foot and metre.
//!
//! A pair that was measured may stand so by chance; it is refused only until both say that they were.

use obvert_proto::{Violation, common::v1::Provenance, design::v1::WallInputs};

use super::source_of;

/// Feet in a metre.
const FT_PER_M: f64 = 1.0 / 0.3048;
/// How near two entered heights must stand to that ratio to be refused, as a share: what rounding
/// to three digits leaves.
const NEAR: f64 = 0.002;

/// Whether one height is the other in feet, to within a share.
pub(crate) fn feet_and_metres(a: f64, b: f64, near: f64) -> bool {
    let (less, more) = (a.min(b), a.max(b));
    less > 0.0 && (more / less / FT_PER_M - 1.0).abs() < near
}

/// Sections whose cover and groundwater, or whose covers, look like one height in two units.
pub(super) fn check(inputs: &WallInputs) -> Vec<Violation> {
    let measured = |field: &str| {
        let source = source_of(inputs, field);
        source.is_some_and(|source| source.provenance() == Provenance::Measured)
    };
    let (cover_measured, water_measured) =
        (measured("cover_m"), measured("groundwater_above_crown_m"));
    let mut wrong = Vec::new();
    for (index, section) in inputs.sections.iter().enumerate() {
        let (cover, water) = (section.cover_m, section.groundwater_above_crown_m);
        if feet_and_metres(cover, water, NEAR) && !(cover_measured && water_measured) {
            let message = format!(
                "is {water} m under {cover} m of cover, in the ratio of foot and metre: give both in \
                 metres, or state in sources that both were measured"
            );
            let field = format!("sections[{index}].groundwater_above_crown_m");
            wrong.push(Violation::new(field, message));
        }
    }
    let covers = || inputs.sections.iter().map(|section| section.cover_m);
    let least = covers().fold(f64::INFINITY, f64::min);
    let most = covers().fold(0.0, f64::max);
    if feet_and_metres(least, most, NEAR) && !cover_measured {
        let index = covers().position(|cover| cover == most).unwrap_or_default();
        let message = format!(
            "is {most} m and another section has {least} m, in the ratio of foot and metre: give both \
             in metres, or state in sources that the covers were measured"
        );
        wrong.push(Violation::new(
            format!("sections[{index}].cover_m"),
            message,
        ));
    }
    wrong
}
