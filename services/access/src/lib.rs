//! Who is calling, and may they do this?
//!
//! A request carries a key; [`Keys::caller`] turns it into a [`Caller`]; the first line of every RPC
//! asks `caller.may(action, project)?`; what each role may do is one table, [`matrix`]. Keys and their roles are records in the reserved project
//! `office`; only the SHA-256 of a key is kept.
//!
//! Invariants: permission is decided before existence and before validation; a role that is not in
//! the row of an action is denied; keys are compared in constant time.

mod caller;
mod key;
mod keys;
mod links;
pub mod log;
pub mod matrix;

pub use caller::{Caller, Grant, role_word};
pub use key::{KeyError, digest_of, fresh_key};
pub use keys::{Keys, OFFICE};
pub use links::{Link, LinkError, LinkSigner};
pub use log::{AccessLog, Peer};
pub use matrix::{Action, Cell};
