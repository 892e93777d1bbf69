//! The dose index: lamp power that stood over each place, and what lies below the reference.

use super::bins::{Bins, runs};
use super::rows::{LIT_UNKNOWN, lamp_bits};
use super::{At, Rows, Setup, StationRange};

/// Dose index along the run. It counts lamp power by time and place and is no irradiance.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// Stretch that the bins divide evenly.
    pub range: StationRange,
    /// Length of a bin, m.
    pub bin_m: f64,
    /// Index of each bin, W·s per m.
    pub index_w_s_per_m: Vec<f64>,
    /// Bin with the lowest index; its time is not known and stands as NaN.
    pub least: At,
    /// Mean over the stretch, W·s per m.
    pub mean_w_s_per_m: f64,
}

/// The stretch split into what reached the reference and what did not.
///
/// `covered_length_m + below_reference_length_m` is `length_m`, and the zones add up to the
/// length below the reference.
#[derive(Debug, Clone, PartialEq)]
pub struct Coverage {
    /// Reference dose of the band, W·s per m.
    pub reference_w_s_per_m: f64,
    /// Dose from which a bin counts as covered, W·s per m.
    pub covered_from_w_s_per_m: f64,
    /// Length of the stretch, m.
    pub length_m: f64,
    /// Length of the bins that reached it, m.
    pub covered_length_m: f64,
    /// Length of the bins that did not, m.
    pub below_reference_length_m: f64,
    /// Of that, the part that begins at the lower station, m.
    pub start_zone_m: f64,
    /// Of that, the part that ends at the higher station, m.
    pub end_zone_m: f64,
    /// Of that, all between the two zones, m.
    pub between_m: f64,
    /// Each stretch below, in order of station.
    pub below: Vec<BelowReference>,
}

/// A stretch below the reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BelowReference {
    /// Where it lies.
    pub range: StationRange,
    /// Lowest dose in it, W·s per m.
    pub least_w_s_per_m: f64,
    /// Whether it begins at the lower station of the stretch.
    pub start_zone: bool,
    /// Whether it ends at the higher station of the stretch.
    pub end_zone: bool,
}

/// Parts of a bin in which light is summed, so that where a lamp stands in a bin hardly matters.
const FINER: usize = 4;

/// Sums each lit lamp's power over the bins it stood in or passed.
///
/// A lamp is over a place while it is no farther away than half the pitch of the lamps, so that
/// a standing train does not light a comb of points.
/// An interval longer than `gap_limit_s`, or one whose lamps are not known, adds nothing: light
/// that no row shows is not credited.
pub(super) fn dose(
    rows: &Rows<'_>,
    setup: &Setup,
    range: StationRange,
    gap_limit_s: f64,
) -> Option<Dose> {
    let power_w = setup.train.lamp_power_w.filter(|power| *power > 0.0)?;
    let wanted = Bins::over(range, setup.settings.bin_m)?;
    let reach_m = pitch_m(setup).max(wanted.width_m);
    let bins = wanted
        .padded((reach_m / wanted.width_m).ceil() as usize)
        .finer(FINER);
    let (first, last) = rows.lit_rows?;
    let offsets = &setup.train.lamp_offsets_m;
    let shifts: Vec<f64> = offsets
        .iter()
        .map(|o| rows.shift_m(*o) / bins.width_m)
        .collect();
    let all = lamp_bits(shifts.len());
    let per_bin_and_s = power_w / bins.width_m;
    let mut index = vec![0.0; bins.count];
    let mut from = bins.place(rows.station_m[first]);
    for row in first..(last + 1).min(rows.len() - 1) {
        let to = bins.place(rows.station_m[row + 1]);
        let lit = rows.lit[row];
        let time_s = rows.time_s(row + 1) - rows.time_s(row);
        if !matches!(lit, 0 | LIT_UNKNOWN) && time_s <= gap_limit_s {
            // A count without states is spread evenly over the train's lamps.
            let (mut mask, share) = match rows.mask(row) {
                Some(mask) => (mask & all, 1.0),
                None => (all, (f64::from(lit) / shifts.len() as f64).min(1.0)),
            };
            let amount = per_bin_and_s * time_s * share;
            while mask != 0 {
                let shift = shifts[mask.trailing_zeros() as usize];
                mask &= mask - 1;
                bins.spread(from + shift, to + shift, |bin, part| {
                    index[bin] += amount * part
                });
            }
        }
        from = to;
    }
    let index = smoothed(&bins, &index, reach_m, &wanted);
    Some(summary(wanted, range, index))
}

/// Mean distance between two lamps, m.
fn pitch_m(setup: &Setup) -> f64 {
    let spaces = setup.train.lamp_offsets_m.len().saturating_sub(1).max(1);
    setup.train.length_m() / spaces as f64
}

/// Mean of the index over `reach_m` around the middle of each wanted bin.
fn smoothed(bins: &Bins, index: &[f64], reach_m: f64, wanted: &Bins) -> Vec<f64> {
    let mut sums = Vec::with_capacity(index.len() + 1);
    let mut sum = 0.0;
    sums.push(sum);
    for value in index {
        sum += value;
        sums.push(sum);
    }
    let until = |station_m: f64| {
        let place = bins.place(station_m).clamp(0.0, index.len() as f64);
        let bin = (place as usize).min(index.len() - 1);
        sums[bin] + (place - bin as f64) * index[bin]
    };
    (0..wanted.count)
        .map(|bin| {
            let middle_m = wanted.middle_m(bin);
            let half_m = reach_m / 2.0;
            let within = until(middle_m + half_m) - until(middle_m - half_m);
            within * bins.width_m / reach_m
        })
        .collect()
}

fn summary(bins: Bins, range: StationRange, index: Vec<f64>) -> Dose {
    let mut least = At {
        value: f64::INFINITY,
        station_m: range.from_m,
        elapsed_s: f64::NAN,
    };
    for (bin, value) in index.iter().enumerate() {
        if *value < least.value {
            least = At {
                value: *value,
                station_m: bins.middle_m(bin),
                ..least
            };
        }
    }
    let mean_w_s_per_m = index.iter().sum::<f64>() / bins.count as f64;
    Dose {
        range,
        bin_m: bins.width_m,
        index_w_s_per_m: index,
        least,
        mean_w_s_per_m,
    }
}

impl Dose {
    /// Splits the stretch at a share of a reference dose.
    ///
    /// # Equation
    ///
    /// ```text
    /// D(x) = Σ over rows and lit lamps of
    ///        P · Δt · (share of the way within ± pitch / 2 of x) / pitch
    /// covered: D(x) >= covered_share · D_ref
    /// ```
    ///
    /// # Units
    ///
    /// Doses in W·s per m of run, lengths in m.
    ///
    /// # Range
    ///
    /// Any; a reference that is no number covers nothing.
    ///
    /// # Source
    ///
    /// Own definition; a screening index.
    ///
    /// # Example
    ///
    /// Own example, checked by hand: of three bins of 1 m the middle one lacks light.
    ///
    /// ```
    /// # use obvert_engineering::cure_log::{At, Dose, StationRange};
    /// let dose = Dose {
    ///     range: StationRange { from_m: 0.0, to_m: 3.0 },
    ///     bin_m: 1.0,
    ///     index_w_s_per_m: vec![100.0, 80.0, 99.0],
    ///     least: At { value: 80.0, station_m: 1.5, elapsed_s: f64::NAN },
    ///     mean_w_s_per_m: 93.0,
    /// };
    /// let coverage = dose.coverage(100.0, 0.95);
    /// assert_eq!(coverage.covered_length_m, 2.0);
    /// assert_eq!(coverage.between_m, 1.0);
    /// ```
    pub fn coverage(&self, reference_w_s_per_m: f64, covered_share: f64) -> Coverage {
        let limit = reference_w_s_per_m * covered_share;
        let index = &self.index_w_s_per_m;
        let count = index.len();
        let bins = Bins {
            from_m: self.range.from_m,
            width_m: self.bin_m,
            count,
        };
        let below: Vec<BelowReference> = runs(count, |bin| !covers(index[bin], limit))
            .into_iter()
            .map(|run| BelowReference {
                range: bins.range(run.start, run.end),
                least_w_s_per_m: index[run.clone()]
                    .iter()
                    .copied()
                    .fold(f64::INFINITY, f64::min),
                start_zone: run.start == 0,
                end_zone: run.end == count,
            })
            .collect();
        let sum = |wanted: &dyn Fn(&BelowReference) -> bool| {
            below
                .iter()
                .filter(|part| wanted(part))
                .fold(0.0, |sum, part| sum + part.range.length_m())
        };
        let covered = index.iter().filter(|value| covers(**value, limit)).count();
        Coverage {
            reference_w_s_per_m,
            covered_from_w_s_per_m: limit,
            length_m: self.range.length_m(),
            covered_length_m: covered as f64 * self.bin_m,
            below_reference_length_m: (count - covered) as f64 * self.bin_m,
            start_zone_m: sum(&|part| part.start_zone),
            end_zone_m: sum(&|part| part.end_zone && !part.start_zone),
            between_m: sum(&|part| !part.start_zone && !part.end_zone),
            below,
        }
    }
}

/// Whether a dose reaches a limit; a hair's breadth is left to rounding.
fn covers(dose: f64, limit: f64) -> bool {
    dose >= limit - limit.abs() * 1e-9
}
