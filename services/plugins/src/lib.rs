//! Plug-ins: programs of others, in any language, called over `obvert.plugin.v1`.
//!
//! One question in five lines: [`Plugin`] has a channel, a deadline, sizes and a room of its own;
//! the plug-in is asked to describe itself; the question goes out with the evidence it wants; the
//! answer is held against the contract; what fits is answered, anything else is a [`Fault`] in words.
//!
//! Invariants: whatever a plug-in does ends within its deadline and its sizes; nothing it says is
//! taken that the contract does not allow; one that hangs keeps no other waiting, since each has a
//! room of its own. [`conformance`] runs the same checks for an author before a server does.

mod address;
mod answer;
pub mod conformance;
mod description;
mod fault;
mod log;
mod plugin;
mod section;
mod verdict;

pub use address::Address;
pub use answer::{Answer, Question};
pub use description::{Edition, edition};
pub use fault::Fault;
pub use log::{LogInput, LogOutput, LogPart, open_log};
pub use plugin::{ANSWER_BYTES, Kind, Plugin, Plugins, REQUEST_BYTES, Registration};
pub use section::write_section;
pub use verdict::ask_verdict;
