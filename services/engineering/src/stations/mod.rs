//! Stations along a pipe: where they are counted from, how two surveys of one pipe are laid over
//! each other, and which opening of the one is which of the other.
//!
//! A station without a datum means nothing: counters are zeroed at the middle of a manhole, at
//! its wall or at the pipe's end. [`Station::converted`] carries a station from one to another,
//! [`reversed`] turns a survey round that was driven from the other manhole, and [`align`] maps
//! the openings registered before lining to those seen after it.

mod align;
mod datum;
mod fit;
mod opening;
mod pairing;
mod reverse;

pub use align::{Alignment, Finding, MatchLimits, Pair, align};
pub use datum::{ASSUMED_RADIUS_M, Conversion, Datum, ManholeWall, Station};
pub use opening::{Opening, clock_difference_h};
pub use reverse::{mirrored_clock_h, reversed};
