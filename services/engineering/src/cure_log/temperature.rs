//! Peak wall temperature along the run, by sensor and over all sensors.

use super::bins::{Bins, runs};
use super::rows::value;
use super::spans::keep;
use super::{At, Band, Rows, Setup, Span, Spans, StationRange};

/// What one infrared sensor saw from the first lamp lit to the end of the log.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SensorFigures {
    /// Offset that its stations were shifted by, m.
    pub offset_m: f64,
    /// Highest reading, degrees C, at the sensor's own station.
    pub peak: Option<At>,
    /// Length of the stretch that it passed with readings, m.
    pub seen_length_m: f64,
    /// Share of that length whose peak lies below the band's reaction temperature, percent.
    pub below_reaction_percent: Option<f64>,
    /// Share of that length whose peak lies above the band's most, percent.
    pub above_max_percent: Option<f64>,
    /// Share of that length whose peak lies within the band, percent.
    pub in_band_percent: Option<f64>,
    /// Rows without a reading, from the first lamp lit to the last one off.
    pub rows_not_measured: usize,
}

/// Highest reading of any sensor at each place: this is what the band is held against, because
/// a sensor ahead of the lamps never sees the peak.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WallPeak {
    /// Stretches whose peak stays below the band's least, with the lowest peak, degrees C.
    pub cold: Spans,
    /// Stretches whose peak passes the band's most, with the highest peak, degrees C.
    pub hot: Spans,
    /// Length that no sensor saw, m.
    pub unseen_length_m: f64,
    /// Share of the seen length within the band, percent; none without a limit.
    pub in_band_percent: Option<f64>,
}

/// Figures of all sensors.
pub(super) struct Temperatures {
    pub(super) sensors: Vec<SensorFigures>,
    pub(super) wall: WallPeak,
    /// Peak of each bin by sensor; minus infinity where it saw nothing.
    pub(super) peaks_c: Vec<Vec<f64>>,
    pub(super) bin_m: f64,
}

pub(super) fn temperatures(
    rows: &Rows<'_>,
    setup: &Setup,
    range: StationRange,
    gap_limit_s: f64,
    band: Option<&Band>,
) -> Option<Temperatures> {
    let bins = Bins::over(range, setup.settings.bin_m)?;
    let mut sensors = Vec::new();
    let mut peaks_c = Vec::new();
    let mut highest = vec![f64::NEG_INFINITY; bins.count];
    for (sensor, column) in rows.channels.infrared_c.iter().enumerate() {
        let offset_m = setup
            .train
            .infrared_offsets_m
            .get(sensor)
            .copied()
            .unwrap_or(0.0);
        let mut figures = SensorFigures {
            offset_m,
            ..SensorFigures::default()
        };
        let peaks = profile(rows, column, &bins, gap_limit_s, &mut figures);
        shares(&mut figures, &peaks, &bins, band);
        for (all, peak) in highest.iter_mut().zip(&peaks) {
            *all = all.max(*peak);
        }
        sensors.push(figures);
        peaks_c.push(peaks);
    }
    let wall = wall_peak(&highest, &bins, band);
    Some(Temperatures {
        sensors,
        wall,
        peaks_c,
        bin_m: bins.width_m,
    })
}

/// Peak of each bin that the sensor passed, and the sensor's highest reading.
fn profile(
    rows: &Rows<'_>,
    column: &[f64],
    bins: &Bins,
    gap_limit_s: f64,
    figures: &mut SensorFigures,
) -> Vec<f64> {
    let mut peaks = vec![f64::NEG_INFINITY; bins.count];
    let Some((first, last)) = rows.lit_rows else {
        return peaks;
    };
    let shift_m = rows.shift_m(figures.offset_m);
    let mut before = f64::NAN;
    let mut peak: Option<At> = None;
    for row in first..rows.len() {
        let place = bins.place(rows.station_m[row] + shift_m);
        let reading = value(column, row);
        if reading.is_nan() {
            figures.rows_not_measured += usize::from(row <= last);
            before = f64::NAN;
            continue;
        }
        // What lies between two rows is taken as read only when no gap separates them.
        let joined = !before.is_nan() && rows.time_s(row) - rows.time_s(row - 1) <= gap_limit_s;
        let from = if joined { before } else { place };
        bins.spread(from, place, |bin, _| peaks[bin] = peaks[bin].max(reading));
        before = place;
        keep(&mut peak, 1.0, reading, rows, row);
    }
    figures.peak = peak.map(|at| At {
        station_m: at.station_m + shift_m,
        ..at
    });
    peaks
}

fn shares(figures: &mut SensorFigures, peaks: &[f64], bins: &Bins, band: Option<&Band>) {
    let seen = peaks.iter().filter(|peak| peak.is_finite()).count();
    figures.seen_length_m = seen as f64 * bins.width_m;
    let Some(band) = band.filter(|_| seen > 0) else {
        return;
    };
    let percent = |wanted: &dyn Fn(f64) -> bool| {
        let met = peaks
            .iter()
            .filter(|peak| peak.is_finite() && wanted(**peak))
            .count();
        100.0 * met as f64 / seen as f64
    };
    let (min, max) = (band.wall_temperature_min_c, band.wall_temperature_max_c);
    figures.below_reaction_percent = band
        .reaction_temperature_c
        .map(|limit| percent(&|peak| peak < limit));
    figures.above_max_percent = max.map(|limit| percent(&|peak| peak > limit));
    if min.is_some() || max.is_some() {
        figures.in_band_percent = Some(percent(&|peak| within(peak, min, max)));
    }
}

fn wall_peak(highest: &[f64], bins: &Bins, band: Option<&Band>) -> WallPeak {
    let seen = highest.iter().filter(|peak| peak.is_finite()).count();
    let mut wall = WallPeak {
        unseen_length_m: (highest.len() - seen) as f64 * bins.width_m,
        ..WallPeak::default()
    };
    let (min, max) = band.map_or((None, None), |band| {
        (band.wall_temperature_min_c, band.wall_temperature_max_c)
    });
    if let Some(min) = min {
        wall.cold = stretches(highest, bins, -1.0, |peak| peak < min);
    }
    if let Some(max) = max {
        wall.hot = stretches(highest, bins, 1.0, |peak| peak > max);
    }
    if seen > 0 && (min.is_some() || max.is_some()) {
        let met = highest
            .iter()
            .filter(|peak| peak.is_finite() && within(**peak, min, max));
        wall.in_band_percent = Some(100.0 * met.count() as f64 / seen as f64);
    }
    wall
}

fn within(peak: f64, min: Option<f64>, max: Option<f64>) -> bool {
    min.is_none_or(|limit| peak >= limit) && max.is_none_or(|limit| peak <= limit)
}

/// Stretches of bins outside a limit. They have no single time, so theirs are NaN.
fn stretches(peaks: &[f64], bins: &Bins, worse: f64, outside: impl Fn(f64) -> bool) -> Spans {
    let mut spans = Spans::default();
    for run in runs(peaks.len(), |bin| {
        peaks[bin].is_finite() && outside(peaks[bin])
    }) {
        let range = bins.range(run.start, run.end);
        let worst = peaks[run].iter().copied().map(|peak| peak * worse);
        spans.push(Span {
            from_s: f64::NAN,
            to_s: f64::NAN,
            station_from_m: range.from_m,
            station_to_m: range.to_m,
            value: worst.fold(f64::NEG_INFINITY, f64::max) * worse,
        });
    }
    spans
}
