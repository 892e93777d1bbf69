//! The record verbs, once: create, revise, get, list, list revisions, watch and import, generic over
//! every kind of record that a service keeps.
//!
//! A request in five lines: the caller may (`obvert_access`), the body is held against the rules that
//! the schema states ([`obvert_proto::rules`]), the service's own [`Register::check`] looks across
//! fields and [`Register::judge`] at the records it names, and one commit writes it.
//!
//! Invariants: all violations are reported at once; a record names only records of its own project or
//! of `office`, and only ones that exist; the stored bytes are answered as they are, never encoded
//! again; nothing here knows one kind from another.

mod counted;
mod create;
mod envelope;
mod import;
mod kinds;
mod named;
pub mod names;
mod own;
pub mod paper;
mod read;
mod refusal;
mod register;
mod replay;
mod revise;
mod shift;
mod stored;
mod verbs;
mod watch;

pub use create::Create;
pub use envelope::{
    Digest, caller_of, check_request, check_write, draft, etag, meta, now_ms, opened, revision_of,
};
pub use import::collect_table;
pub use kinds::{KindEntry, KindTable};
pub use named::{Named, Writer};
pub use own::{check_own_id, reaches, wrote_first};
pub use read::{RecordPage, is_of_project};
pub use refusal::{blob_refusal, refusal};
pub use register::{Judged, Records, Register, Related};
pub use revise::Revise;
pub use shift::of_own_shift;
pub use stored::{called, message_of};
pub use verbs::{Answer, Answers, answers};
pub use watch::Touched;
