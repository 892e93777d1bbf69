//! Known ways in, each tried.

mod archives;
mod headers;
mod log_rows;
mod messages;
mod paths;
mod people;
mod scripts;
mod tables;
