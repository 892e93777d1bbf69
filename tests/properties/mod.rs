//! Identities that must hold for any input, each on ten thousand random ones, or ten times as many.

mod buckling_walls;
mod checks_together;
mod design_answers;
mod finite;
mod hydraulics;
mod load_coefficient;
mod ordered_walls;
mod ovality_and_stiffness;
mod section_loads;
mod soil_walls;
mod strategies;

use proptest::prelude::ProptestConfig;

use crate::campaign::rounds;

/// So many cases, and no file is written when one fails: the message holds the input.
pub(crate) fn cases() -> ProptestConfig {
    ProptestConfig {
        cases: rounds(10_000, 100_000),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// Whether two numbers agree to a relative tolerance.
pub(crate) fn agree(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs())
}
