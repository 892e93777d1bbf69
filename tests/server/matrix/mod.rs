//! Who may do what: every cell of the table of roles over a real server, with a real key of each role.

mod bounds;
mod call;
mod cells;
mod own;
mod pages;
mod rows;
mod strangers;
pub(crate) mod world;
