//! What do samples, tests and cameras say of the finished liner?
//!
//! A request in five lines: the caller may write the collection; the schema's ranges hold; `record`
//! looks across the fields of one record; `rules` holds it against the run and the segment it names
//! and writes means, times and allowances by `obvert_engineering`; one commit keeps it.
//!
//! Invariants: nobody but the server writes a mean, a required time or an allowed loss; a test that
//! fails is stored with its findings, never refused; a report that names another sample than it is
//! filed for is stored, and whether that holds a point is not asked here; a nonconformance keeps every
//! record that it was found in, and is decided by roles that may release, or give variances.
//!
//! The time of the air test is for air pressure near sea level, and the allowed loss is the usual
//! 50 US gallons for each inch, mile and day; an owner's own limit is judged by the plan.

mod record;
mod rules;
mod service;

pub use rules::AcceptanceRegister;
pub use service::Acceptance;
