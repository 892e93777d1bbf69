//! The record of acts: is it complete, and is every alteration of it noticed?

mod commands;
mod events;
mod frames;
mod log;
mod mutations;
