//! Chance that repeats: one stream of numbers for each label, so that no family disturbs another.

use rand::{RngExt, SeedableRng, rngs::StdRng};

/// A stream of numbers for one purpose.
pub(crate) struct Dice(StdRng);

impl Dice {
    /// The stream of a label under a seed.
    pub(crate) fn of(seed: u64, label: &str) -> Self {
        // FNV-1a, which spreads labels that differ in one letter.
        let mixed = label
            .bytes()
            .fold(0xcbf2_9ce4_8422_2325 ^ seed, |hash, byte| {
                (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
            });
        Self(StdRng::seed_from_u64(mixed))
    }

    /// Evenly spread between two values.
    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        self.0.random_range(from..to)
    }

    /// Whole number, both ends included.
    pub(crate) fn whole(&mut self, from: i64, to: i64) -> i64 {
        self.0.random_range(from..=to)
    }

    /// Scattered round a mean, nowhere farther off than three standard deviations.
    pub(crate) fn scattered(&mut self, mean: f64, deviation: f64) -> f64 {
        // Twelve even numbers sum up to a bell curve of deviation 1.
        let sum: f64 = (0..12).map(|_| self.between(0.0, 1.0)).sum();
        mean + deviation * (sum - 6.0).clamp(-3.0, 3.0)
    }
}

/// A value on a decimal grid, as people write it down.
pub(crate) fn rounded(value: f64, decimals: i32) -> f64 {
    let factor = 10_f64.powi(decimals);
    (value * factor).round() / factor
}
