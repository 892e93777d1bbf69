//! Packages: built, assembled through the service, and verified byte by byte.

pub(crate) mod assembling;
mod by_plan;
mod content;
mod cure_sheet;
mod differing;
pub(crate) mod forging;
pub(crate) mod sample;
mod verifying;
