//! Numbers that somebody else has published, each beside its source, against the formulas.
//!
//! `derived`, `derived_orders`, `golden_walls` and `golden_flow` are the exceptions and say so: their
//! numbers are our own computation.

mod air_test;
mod capacity;
mod derived;
mod derived_orders;
mod exfiltration;
mod flexure;
mod golden;
mod golden_flow;
mod golden_walls;
mod live_load_tables;
mod load_coefficients;
mod najafi_wall;
mod ovality;
mod pressure_table;
mod registry;
mod retention;
mod ten_mistakes;

/// Asserts that a number lies within a tolerance of the one in print.
#[track_caller]
pub(crate) fn assert_near(actual: f64, printed: f64, tolerance: f64) {
    assert!(
        (actual - printed).abs() <= tolerance,
        "computed {actual}, printed {printed}, tolerance {tolerance}"
    );
}
