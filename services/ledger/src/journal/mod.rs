//! The truth: numbered volumes of append-only frames.
//!
//! A volume is a header, then groups. A group is commit frames and a group-end mark that repeats
//! their count, the group's start and the running number of commits: what stands before the last
//! group-end was acknowledged, what stands after it was not. A clean stop leaves a closed mark, a
//! full volume a sealed mark as its last frame.

pub(crate) mod cache;
pub(crate) mod frame;
pub(crate) mod reader;
pub(crate) mod recover;
pub(crate) mod volume;
pub(crate) mod walk;
pub(crate) mod writer;

/// A byte of the journal: volume number and offset in it, ordered as they were written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Position(pub(crate) u64);

const OFFSET_BITS: u32 = 40;

impl Position {
    /// Where the first group of the journal starts.
    pub(crate) const FIRST: Position = Position::new(1, volume::HEADER_BYTES as u64);

    pub(crate) const fn new(volume: u32, offset: u64) -> Position {
        Position(((volume as u64) << OFFSET_BITS) | offset)
    }

    pub(crate) fn volume(self) -> u32 {
        (self.0 >> OFFSET_BITS) as u32
    }

    pub(crate) fn offset(self) -> u64 {
        self.0 & ((1 << OFFSET_BITS) - 1)
    }

    pub(crate) fn plus(self, bytes: usize) -> Position {
        Position(self.0 + bytes as u64)
    }
}
