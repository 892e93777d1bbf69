//! TOML that people write: plans, configs. Read key by key, every fault at once.
//!
//! [`read`] gives the table of a text; its [`Reader`] takes each value under its key and refuses the
//! keys that nobody asked for, with the nearest known one. [`Faults`] keeps row and column of each.

mod faults;
mod reader;

pub use faults::{Fault, Faults, place};
pub use reader::{Reader, check_controls, listed, number_of, read, words_of};
