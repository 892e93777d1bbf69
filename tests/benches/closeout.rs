//! The invented segment of the tests, for benchmarks too.

#[path = "../closeout/fixture/mod.rs"]
pub(crate) mod fixture;
