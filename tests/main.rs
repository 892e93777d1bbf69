//! All tests of the workspace, in one binary so that it links once.

// What cannot go on says so by a panic.
#![allow(clippy::unwrap_used)]

mod audit;
mod calc;
mod campaign;
mod closeout;
mod fuzz;
mod holes;
mod ledger;
mod package;
mod plugins;
mod properties;
mod published;
mod server;
mod services;
mod site;
mod tables;
mod tidy;
mod typeset;
