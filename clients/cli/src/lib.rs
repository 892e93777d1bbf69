//! obvert: the client for people and scripts, `obvert <noun> <verb>`.
//!
//! Every kind of record is a noun with the same verbs, read from the schema, so a new kind needs no
//! line here. A few nouns have verbs of their own: cure logs, plans, points, packages, keys, files.
//!
//! Invariants: data goes to standard output, messages to standard error; a key is read from a file,
//! never from a flag or the environment; the exit code says what kind of end it was ([`Exit`]).

mod args;
mod calc;
mod call;
mod commands;
mod connection;
mod diff;
mod dynamic;
mod failure;
mod file_name;
mod nouns;
mod output;
mod progress;
pub mod verify;

pub use failure::{Exit, Failure};
pub use file_name::plain_file_name;

use std::ffi::OsString;

/// Runs one command line.
///
/// # Errors
///
/// [`Failure`] with the exit code and what to print on standard error.
pub async fn run(words: Vec<OsString>) -> Result<(), Failure> {
    let matches = match args::command().try_get_matches_from(words) {
        Ok(matches) => matches,
        Err(error) => return args::usage(&error),
    };
    commands::run(&matches).await
}
