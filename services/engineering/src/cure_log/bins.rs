//! Bins of equal length along the run.

/// A stretch of stations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StationRange {
    /// Lower station, m.
    pub from_m: f64,
    /// Higher station, m.
    pub to_m: f64,
}

/// Bins kept at most; a longer stretch gets longer bins.
const BINS_MAX: f64 = 200_000.0;

/// Bins that divide a stretch evenly, each about as long as asked.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bins {
    pub(super) from_m: f64,
    pub(super) width_m: f64,
    pub(super) count: usize,
}

impl StationRange {
    /// Length, m.
    pub fn length_m(&self) -> f64 {
        self.to_m - self.from_m
    }
}

impl Bins {
    /// None for a stretch without length.
    pub(super) fn over(range: StationRange, bin_m: f64) -> Option<Self> {
        let length_m = range.length_m();
        if !(length_m.is_finite() && length_m > 0.0 && bin_m > 0.0) {
            return None;
        }
        // A length that is a whole number of bins must not gain one by rounding.
        let count = (length_m / bin_m - 1e-6).ceil().clamp(1.0, BINS_MAX);
        Some(Self {
            from_m: range.from_m,
            width_m: length_m / count,
            count: count as usize,
        })
    }

    /// The same bins with some more on both sides.
    pub(super) fn padded(&self, more: usize) -> Self {
        Self {
            from_m: self.from_m - more as f64 * self.width_m,
            count: self.count + 2 * more,
            ..*self
        }
    }

    /// The same stretch in shorter bins.
    pub(super) fn finer(&self, parts: usize) -> Self {
        Self {
            width_m: self.width_m / parts as f64,
            count: self.count * parts,
            ..*self
        }
    }

    /// Place of a station, counted in bins.
    #[inline]
    pub(super) fn place(&self, station_m: f64) -> f64 {
        (station_m - self.from_m) / self.width_m
    }

    pub(super) fn range(&self, from_bin: usize, to_bin: usize) -> StationRange {
        StationRange {
            from_m: self.from_m + from_bin as f64 * self.width_m,
            to_m: self.from_m + to_bin as f64 * self.width_m,
        }
    }

    pub(super) fn middle_m(&self, bin: usize) -> f64 {
        self.from_m + (bin as f64 + 0.5) * self.width_m
    }

    /// Calls `visit(bin, share)` for each bin met on the way between two places, in bins, with
    /// the share of the way that lies in it. A standing point has its whole share in one bin.
    #[inline]
    pub(super) fn spread(&self, from: f64, to: f64, mut visit: impl FnMut(usize, f64)) {
        let (low, high) = if from <= to { (from, to) } else { (to, from) };
        let last = self.count as f64;
        if high < 0.0 || low >= last {
            return;
        }
        let first_bin = low.max(0.0) as usize;
        if high < (first_bin + 1) as f64 && low >= 0.0 {
            visit(first_bin, 1.0);
            return;
        }
        let way = high - low;
        let last_bin = (high.min(last).ceil() as usize).min(self.count);
        for bin in first_bin..last_bin {
            let inside = high.min((bin + 1) as f64) - low.max(bin as f64);
            visit(bin, inside / way);
        }
    }
}

/// Stretches of neighbouring bins for which `wanted` holds, as ranges of bins.
pub(super) fn runs(count: usize, wanted: impl Fn(usize) -> bool) -> Vec<std::ops::Range<usize>> {
    let mut found = Vec::new();
    let mut start = None;
    for bin in 0..count {
        match (wanted(bin), start) {
            (true, None) => start = Some(bin),
            (false, Some(from)) => {
                found.push(from..bin);
                start = None;
            }
            _ => {}
        }
    }
    if let Some(from) = start {
        found.push(from..count);
    }
    found
}
