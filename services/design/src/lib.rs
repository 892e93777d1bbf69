//! How thick does each liner have to be, by which equation and from which inputs?
//!
//! A request in five lines: the caller may write designs; the schema's ranges hold; `record` looks
//! across the inputs, so that no ovality is a fraction and no groundwater stands above the ground;
//! `rules` lets `obvert_engineering` work every check at every section and writes the result beside
//! the inputs; one commit keeps both. `check_wall` does the middle three alone.
//!
//! Invariants: nobody but the server writes a result; no equation stands here; a wall is worked out
//! the same way with and without storing it; `check_wall` reads neither ledger nor descriptors.

mod installed;
mod record;
mod rules;
mod service;
mod sheet;

pub use rules::DesignRegister;
pub use service::Design;
