//! What was done in the pipe, step by step, and what does the logger say of it?
//!
//! A request in five lines: the caller may write the collection; the schema's ranges hold; `record`
//! looks across the fields of one record and `rules` at the records it names; one commit writes it.
//! A cure log takes the way of [`cure`]: it is read while it streams in, held against its run, and
//! filed as one record with its native file and its sealed series beside it.
//!
//! Invariants: a cure log that can be read is stored, and what is wrong with it is a finding; a
//! file is filed once; a liner is installed once; a day does not close while a lateral that may be
//! live is neither open nor known to stay shut. Whether a run used the right liner is not asked
//! here.

pub mod cure;
mod record;
mod rules;
mod service;

pub use rules::InstallationRegister;
pub use service::Installation;
