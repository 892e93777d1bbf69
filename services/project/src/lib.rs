//! Which segments, laterals and parcels does a project have, which papers and files are about them,
//! and who holds a key?
//!
//! One `CreateRecord` of a segment in five lines: the caller may write segments (`obvert_access`);
//! the schema's ranges hold (`obvert_records`); the lengths, radii and covers fit one another
//! (`record`); its owner's id and its pair of manholes become unique claims (`rules`); one commit
//! writes it, or the refusal names the segment that holds the pair.
//!
//! Invariants:
//! - An attachment's record exists only when all of its bytes are stored and have its digest.
//! - Names and phones lie in encrypted sheets. The journal holds a salted digest whose salt lies in
//!   the sheet, so nothing can be guessed from it once the sheet is erased.
//! - A principal has two keys in force at most. A key's secret is shown once and kept nowhere; only its SHA-256 is committed.
//! - A grade of paper is never typed: it follows from who filed the paper and who compared it.
//! - Clock and random bytes are read in `service` only.

mod bootstrap;
mod crew_day;
mod key_request;
mod key_uses;
mod keys;
pub mod links;
pub mod papers;
mod parcel_sheet;
mod record;
mod rules;
mod service;
mod upload;

pub use bootstrap::bootstrap_key;
pub use key_uses::keep_key_uses;
pub use links::Links;
pub use papers::Papers;
pub use rules::ProjectRegister;
pub use service::{
    access::Access, attachments::Attachments, papers::PaperRpcs, register::Projects,
};
