//! Where is each liner between order and pipe, and is it the one that was asked for?
//!
//! One `CreateRecord` of a movement in five lines: the caller may write movements
//! (`obvert_access`); the schema's ranges hold (`obvert_records`); the temperatures are in order
//! (`record`); a release to the crew finds the liner's certificate, receiving check, order and
//! maker's sheet and holds them against one another (`rules`); one commit writes it, on condition
//! that none of these was revised meanwhile.
//!
//! Invariants:
//! - A liner is not released to a crew on missing evidence, and all that stands against it is said
//!   at once. This is one of the two hard stops; every other doubt is a finding of a hold point.
//! - Thicknesses of different bases are never compared.
//! - A serial stands for one liner of a project, and a liner has one certificate.

mod record;
mod rules;
mod service;

pub use rules::MaterialRegister;
pub use service::Material;
