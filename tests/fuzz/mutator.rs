//! Inputs made from seeds: bytes changed, cut, doubled, spliced, and numbers at their ends.

use rand::{RngExt, SeedableRng, rngs::StdRng};

/// Pieces that parsers of text and of lengths stumble over.
const PIECES: [&[u8]; 20] = [
    b"\0",
    b"\n",
    b"\r\n",
    b"\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01",
    b"\xff\xff\xff\xff",
    b"\x00\x00\x00\x80",
    b"../",
    b"/",
    b"projects/",
    b"\xef\xbb\xbf",
    b"\xc3",
    b"\xed\xa0\x80",
    b"-1",
    b"NaN",
    b"1e999",
    b"\"",
    b",",
    b"PK\x03\x04",
    b"{{",
    b"obv_",
];
/// Longest input.
const MOST_BYTES: usize = 1 << 20;

/// Makes inputs, the same ones at each ordinary run.
pub(super) struct Mutator(StdRng);

impl Mutator {
    pub(super) fn new(target: &str) -> Self {
        let seed = target.bytes().fold(20_261_125_u64, |seed, byte| {
            seed.wrapping_mul(31).wrapping_add(u64::from(byte))
        });
        Self(StdRng::seed_from_u64(seed))
    }

    /// One input from the seeds; now and then of bytes that resemble none.
    pub(super) fn input(&mut self, seeds: &[Vec<u8>]) -> Vec<u8> {
        if seeds.is_empty() || self.0.random_range(0..20) == 0 {
            let length = self.0.random_range(0..300);
            return (0..length).map(|_| self.0.random()).collect();
        }
        let mut input = self.one_of(seeds).clone();
        for _ in 0..self.0.random_range(1..6) {
            self.change(&mut input, seeds);
        }
        input.truncate(MOST_BYTES);
        input
    }

    fn one_of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.0.random_range(0..all.len())]
    }

    fn change(&mut self, input: &mut Vec<u8>, seeds: &[Vec<u8>]) {
        let at = self.0.random_range(0..=input.len());
        let to = self.0.random_range(at..=input.len().min(at + 64));
        match self.0.random_range(0..7) {
            0 if at < input.len() => input[at] ^= 1 << self.0.random_range(0..8),
            1 if at < input.len() => input[at] = self.0.random(),
            2 => drop(input.drain(at..to)),
            3 => {
                let part = input[at..to].to_vec();
                input.splice(at..at, part);
            }
            4 => {
                let other = self.one_of(seeds);
                let from = self.0.random_range(0..=other.len());
                let part = other[from..].iter().take(64).copied().collect::<Vec<_>>();
                input.splice(at..to, part);
            }
            5 => input.truncate(at),
            _ => {
                let piece = self.one_of(&PIECES).to_vec();
                input.splice(at..at, piece);
            }
        }
    }
}
