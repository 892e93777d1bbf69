//! Packages: built, assembled through the service, and verified byte by byte.

pub(crate) mod assembling;
pub(crate) mod building;
mod by_plan;
mod command;
mod content;
mod cure_sheet;
mod differing;
pub(crate) mod forging;
mod how_to_verify;
mod leaving_out;
mod logo;
mod owner_cover;
mod owner_logo;
mod reissuing;
mod same_bytes;
pub(crate) mod sample;
mod stopping;
mod terminal;
mod verifying;
