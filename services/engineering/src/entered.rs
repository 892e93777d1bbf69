//! What is asked of numbers that a person entered, beyond the range of each.
//!
//! The formulas themselves take these values, since they may come from a measurement or a sweep.

use crate::field::{Field, OutOfRange};
use crate::ovality::refuse_fraction;

/// Pairs of heights in one unit: water above the crown, and the cover that it cannot exceed.
const WATER_AND_GROUND: [(&str, &str); 2] = [
    ("groundwater_above_crown_m", "cover_m"),
    ("groundwater_above_crown_ft", "cover_ft"),
];

/// Feet in a metre.
const FT_PER_M: f64 = 1.0 / 0.3048;
/// How near cover and groundwater must stand to the ratio of foot and metre to be taken for one
/// height in two units, as a share.
const SAME_HEIGHT: f64 = 0.001;

/// Values that are in range and still look like a mistake: an ovality that looks like a fraction,
/// groundwater above the ground, and one height in feet and in metres.
pub fn doubts(fields: &[Field], values: &[f64]) -> Vec<OutOfRange> {
    let of = |name: &str| {
        let index = fields.iter().position(|field| field.name == name)?;
        values.get(index).copied()
    };
    let mut found = Vec::new();
    if let Some(Err(problems)) = of("ovality_percent").map(refuse_fraction) {
        found.extend(problems.0);
    }
    for (water, ground) in WATER_AND_GROUND {
        if let (Some(above_crown), Some(cover)) = (of(water), of(ground))
            && above_crown > cover
        {
            found.push(OutOfRange {
                field: water.to_owned(),
                value: above_crown,
                min: 0.0,
                max: cover,
                unit: if ground == "cover_m" { "m" } else { "ft" },
                remedy: format!(
                    "Groundwater cannot stand above the ground: check {water} and {ground}, and \
                     whether one of them is in another unit."
                ),
            });
        } else if let (Some(above_crown), Some(cover)) = (of(water), of(ground))
            && above_crown > 0.0
            && (cover / above_crown / FT_PER_M - 1.0).abs() < SAME_HEIGHT
        {
            found.push(OutOfRange {
                field: water.to_owned(),
                value: above_crown,
                // Above the band that is taken for the same height.
                min: cover / FT_PER_M * (1.0 + 2.0 * SAME_HEIGHT),
                max: cover,
                unit: if ground == "cover_m" { "m" } else { "ft" },
                remedy: format!(
                    "{ground} is the same height in feet: give both with their units. If both were \
                     measured so, enter one of them 0.2 percent higher."
                ),
            });
        }
    }
    found
}
