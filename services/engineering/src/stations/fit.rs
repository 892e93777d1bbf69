//! One offset and one scale by least squares.

/// Straight line that carries a station before to a station after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    pub(super) offset_m: f64,
    pub(super) scale: f64,
}

/// Pairs from which a scale is told at all.
const SCALE_PAIRS: usize = 3;
/// Length over which the pairs must spread for a scale to be told, m.
const SCALE_SPREAD_M: f64 = 10.0;

impl Line {
    pub(super) const SAME: Self = Self {
        offset_m: 0.0,
        scale: 1.0,
    };

    pub(super) fn at(&self, before_m: f64) -> f64 {
        self.offset_m + self.scale * before_m
    }
}

/// Line of least squares through `(before, after)`.
///
/// One pair alone could be explained away by an offset, so it leaves the line as it is; a scale
/// needs three pairs well apart.
pub(super) fn least_squares(pairs: &[(f64, f64)]) -> Line {
    if pairs.len() < 2 {
        return Line::SAME;
    }
    let count = pairs.len() as f64;
    let mean_before = pairs.iter().map(|pair| pair.0).sum::<f64>() / count;
    let mean_after = pairs.iter().map(|pair| pair.1).sum::<f64>() / count;
    let least = pairs
        .iter()
        .map(|pair| pair.0)
        .fold(f64::INFINITY, f64::min);
    let most = pairs
        .iter()
        .map(|pair| pair.0)
        .fold(f64::NEG_INFINITY, f64::max);
    let told = pairs.len() >= SCALE_PAIRS && most - least >= SCALE_SPREAD_M;
    let scale = if told {
        let apart = |pair: &(f64, f64)| (pair.0 - mean_before, pair.1 - mean_after);
        let squares: f64 = pairs.iter().map(|pair| apart(pair).0.powi(2)).sum();
        let products: f64 = pairs.iter().map(|pair| apart(pair).0 * apart(pair).1).sum();
        products / squares
    } else {
        1.0
    };
    Line {
        offset_m: mean_after - scale * mean_before,
        scale,
    }
}
