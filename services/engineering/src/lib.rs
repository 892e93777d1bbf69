//! Formulas of liner design, hydraulics and tests, and the figures of a cure, each beside its
//! source.
//!
//! # Bird's eye
//!
//! Numbers come in as plain structs and go out as numbers.
//! A formula is a struct of named inputs with one method whose name ends in the unit of the
//! result: `RestrainedBuckling { .. }.wall_thickness_mm()`.
//! Its rustdoc always has the headings Equation, Units, Range, Source and Example, and the
//! example runs as a test.
//! [`formulas`] lists every formula for a reader that has only numbers, such as a command line.
//!
//! Start at [`wall_design`], which puts the gravity checks of ASTM F1216 Appendix X1 together;
//! then [`order_thickness`], which turns its answer into a wall that can be ordered.
//!
//! # Invariants
//!
//! - Standard library only: no input or output, no clock, no async, no other crate.
//! - Every input is checked against the table that stands beside the struct, and all inputs out
//!   of range are reported together.
//!   Nothing is clamped in silence; where a standard sets a floor, the formula says so.
//! - A check that a liner does not meet is an answer.
//!   A check that does not apply is `None`, never zero.
//! - Units stand in the names. An equation that holds in any consistent units is written once,
//!   in SI; an equation with printed US constants keeps them, in a struct whose fields are US.
//! - A figure that was not read in its own source is marked "from memory" and is a default that
//!   an owner may replace.
//!   The equations of ASTM F1216 Appendix X1 were read in Najafi, Trenchless Technology Piping,
//!   2010, which applies F1216-09; the standard's own pages were not read.
//!
//! # How to add a formula
//!
//! 1. Write the struct with [`field`]'s `inputs!` in the file of its subject: one line a field,
//!    with unit and range. Give it the five headings.
//! 2. Give it one method, and a `FORMULA` constant beside it.
//! 3. Add that constant to the list in `registry.rs`.
//! 4. Write it a second time in `tests/judges/twin`, from the source.
//! 5. Put the source's published numbers in `tests/published`, and the identities that must hold
//!    in `tests/properties`.

pub mod as_built_wall;
pub mod back_check;
pub mod bending;
pub mod buckling;
pub mod capacity;
pub mod carry;
pub mod cure_log;
pub mod deflection;
pub mod deteriorated_pressure_wall;
pub mod document;
pub mod elastic_support;
pub mod encased_buckling;
pub mod entered;
pub mod exfiltration;
pub mod external_load;
pub mod field;
pub mod flexure;
pub mod full_flow;
pub mod gravity_wall;
pub mod groundwater;
pub mod hole_wall;
pub mod inflation_pressure;
pub mod leak_air;
pub mod lined_flow;
pub mod liner_length;
pub mod live_load;
pub mod minimum_slope;
pub mod nominal_wall;
mod notes;
pub mod order_thickness;
pub mod ovality;
pub mod partial_flow;
pub mod partial_wall;
pub mod perfect_shape;
pub mod plots;
pub mod pressure_pipe;
pub mod pressure_wall;
pub mod pull_in;
pub mod pull_limit;
mod registry;
pub mod retention;
pub mod ring_tension;
pub mod section_demand;
pub mod sensitivity;
pub mod soil;
pub mod soil_buckling;
pub mod stations;
pub mod stiffness;
pub mod unit_table;
pub mod units;
pub mod wall_design;
pub mod wall_tolerance;
pub mod wheel_load;

pub use document::Document;
pub use field::{Field, OutOfRange, Problems};
pub use registry::{Formula, Output, Results, formulas};
