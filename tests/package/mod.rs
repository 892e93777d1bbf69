//! Packages: built, assembled through the service, and verified byte by byte.

mod assembling;
mod content;
mod differing;
mod sample;
mod verifying;
