//! The schema of every Obvert service, as generated types and as descriptors.
//!
//! The messages are the contract; this crate adds only what all of their users share: the pool of
//! descriptors ([`pool`]), the rules written into the schema ([`rules`]), and the one error that
//! leaves a service ([`Problem`]).
//!
//! Invariants: nothing here does I/O; a reason has exactly one gRPC code and one page in
//! `proto/reasons`.

#[allow(missing_docs, clippy::all, clippy::too_many_lines, unreachable_pub)]
mod generated {
    include!(concat!(env!("OUT_DIR"), "/obvert.rs"));
}

mod comments;
mod cure_header;
pub mod dates;
mod finding;
mod problem;
mod reason;
pub mod rules;
mod words;

use std::sync::LazyLock;

pub use comments::comment;
pub use generated::obvert::*;
pub use problem::{Problem, Violation};
use prost_reflect::DescriptorPool;
pub use reason::reason_word;
pub use words::{counted, counts, enum_word, kind_in_words};

/// Encoded descriptor set of the schema and all it imports, for reflection.
pub const SCHEMA: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/schema.binpb"));

/// Descriptors of every message, decoded once.
///
/// # Panics
///
/// Never in a build that passed its tests: the bytes are made by this crate's own build.
pub fn pool() -> &'static DescriptorPool {
    static POOL: LazyLock<DescriptorPool> =
        LazyLock::new(|| DescriptorPool::decode(SCHEMA).expect("the built schema decodes"));
    &POOL
}
