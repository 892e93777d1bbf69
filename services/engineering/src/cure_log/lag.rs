//! The distance between two sensors as the log shows it: a check of the counter.

use super::temperature::Temperatures;

/// Distance between the first sensor and another one, stated and found.
///
/// Both pass the same wall one after the other, so their profiles along the run, each shifted by
/// its stated offset, should lie on each other. What shift fits them best is the error of the
/// stated distance, of the counter, or of the offsets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SensorLag {
    /// Number of the other sensor, counted from 0; the first one is sensor 0.
    pub sensor: usize,
    /// Distance by the stated offsets, m, the other sensor behind the first.
    pub stated_m: f64,
    /// Distance by the log, m; none when the profiles are too flat or too unlike to tell.
    pub found_m: Option<f64>,
    /// Correlation of the two profiles at that distance, from -1 to 1.
    pub correlation: f64,
}

/// Farthest shift tried either way, m.
const REACH_M: f64 = 3.0;
/// Correlation below which no distance is told; own choice.
const LEAST_CORRELATION: f64 = 0.5;
/// Bins both sensors must have seen for a correlation to mean anything.
const LEAST_BINS: usize = 30;

pub(super) fn lags(temperatures: &Temperatures, travel_sign: f64) -> Vec<SensorLag> {
    let profiles = &temperatures.peaks_c;
    let Some(first) = profiles.first() else {
        return Vec::new();
    };
    let offset = |sensor: usize| temperatures.sensors[sensor].offset_m;
    let reach = (REACH_M / temperatures.bin_m).round() as i64;
    (1..profiles.len())
        .map(|sensor| {
            let stated_m = offset(sensor) - offset(0);
            let mut best = (0, f64::NEG_INFINITY);
            for shift in (-reach..=reach).filter_map(|shift| {
                correlation(first, &profiles[sensor], shift).map(|found| (shift, found))
            }) {
                let nearer = shift.1 == best.1 && shift.0.abs() < i64::abs(best.0);
                if shift.1 > best.1 || nearer {
                    best = shift;
                }
            }
            // A wall that shows too far along the travel was seen from farther behind.
            let error_m = travel_sign * best.0 as f64 * temperatures.bin_m;
            let told = best.1 >= LEAST_CORRELATION;
            SensorLag {
                sensor,
                stated_m,
                found_m: told.then_some(stated_m + error_m),
                correlation: if best.1.is_finite() { best.1 } else { 0.0 },
            }
        })
        .collect()
}

/// Correlation of `a[bin]` with `b[bin + shift]` over the bins that both saw.
fn correlation(a: &[f64], b: &[f64], shift: i64) -> Option<f64> {
    let (mut n, mut sa, mut sb, mut saa, mut sbb, mut sab) = (0usize, 0.0, 0.0, 0.0, 0.0, 0.0);
    let from = (-shift).max(0) as usize;
    for (bin, &x) in a.iter().enumerate().skip(from) {
        let Some(&y) = b.get((bin as i64 + shift) as usize) else {
            break;
        };
        if x.is_finite() && y.is_finite() {
            n += 1;
            sa += x;
            sb += y;
            saa += x * x;
            sbb += y * y;
            sab += x * y;
        }
    }
    let count = n as f64;
    let spread = |sum: f64, squares: f64| squares - sum * sum / count;
    let (va, vb) = (spread(sa, saa), spread(sb, sbb));
    let told = n >= LEAST_BINS && va > 1e-6 * count && vb > 1e-6 * count;
    told.then(|| (sab - sa * sb / count) / (va * vb).sqrt())
}
