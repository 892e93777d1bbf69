//! Owners' tables, in and out, for any kind of record.
//!
//! An owner keeps pipes, laterals and reports in tables of their own form. A [`ColumnMap`] says
//! which column fills which field, in which unit, with which words for which values; [`read`] and
//! [`write()`] follow it by reflection over the schema, so that no kind of record needs code here and
//! no owner's form is built in.
//!
//! A table is read whole or not at all: [`read`] answers with every bad cell at once, each by file,
//! row and column as a spreadsheet shows them. A number is never guessed: the decimal sign, the
//! unit and the form of dates come from the map alone.
//!
//! Column maps, plans and configs are TOML that people write: [`toml_text`] reads such a text for all.
//!
//! Invariants: nothing here does I/O; a table beyond [`MAX_BYTES`] or [`MAX_ROWS`] is refused; a
//! written text cell never begins like a formula.

mod assemble;
mod bind;
mod cell;
mod check;
mod column_map;
mod forms;
mod ids;
mod map_keys;
mod numbers;
mod path;
mod problems;
mod read;
mod sheet;
mod suggest;
mod times;
pub mod toml_text;
mod write;

pub use column_map::ColumnMap;
pub use read::{TableRow, read};
pub use sheet::{MAX_BYTES, MAX_ROWS};
pub use suggest::did_you_mean;
pub use write::write;
