//! Inner pressure from the end of the pressure hold to the last lamp off.

use super::rows::value;
use super::spans::{SpanWatch, keep};
use super::speed::InBandLength;
use super::{At, Band, Rows, Settings, Spans};

/// Inner pressure while lamps are lit. Of two gauges the lower counts for what is too low and
/// the higher for what is too high.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PressureFigures {
    /// Lowest reading, bar.
    pub least: Option<At>,
    /// Highest reading, bar.
    pub most: Option<At>,
    /// Share of the length within the band, percent; none without a pressure limit.
    pub in_band_percent: Option<f64>,
    /// Times below the band, with the lowest pressure, bar.
    pub dips: Spans,
    /// Times above the band, with the highest pressure, bar.
    pub overs: Spans,
    /// Rows judged.
    pub rows: usize,
    /// Of these, rows without any reading; they neither end nor begin a dip.
    pub rows_not_measured: usize,
}

pub(super) fn pressure(
    rows: &Rows<'_>,
    settings: &Settings,
    band: Option<&Band>,
) -> PressureFigures {
    let mut found = PressureFigures::default();
    let Some((first, last)) = rows.lit_rows else {
        return found;
    };
    let least = band.and_then(|band| band.pressure_min_bar_g);
    let most = band.and_then(|band| band.pressure_max_bar_g);
    let (least_limit, most_limit) = (
        least.unwrap_or(f64::NEG_INFINITY),
        most.unwrap_or(f64::INFINITY),
    );
    let mut dips = SpanWatch::keep_lowest(settings.pressure_least_s);
    let mut overs = SpanWatch::keep_highest(settings.pressure_least_s);
    let mut length = InBandLength::new(rows.progress_m(first));
    let channels = &*rows.channels;
    for row in first..=last {
        let one = value(&channels.pressure_bar_g, row);
        let two = value(&channels.pressure2_bar_g, row);
        // min and max take the other value when one is NaN.
        let (low, high) = (one.min(two), one.max(two));
        found.rows += 1;
        if low.is_nan() {
            found.rows_not_measured += 1;
            length.step(rows.progress_m(row), false);
            continue;
        }
        keep(&mut found.least, -1.0, low, rows, row);
        keep(&mut found.most, 1.0, high, rows, row);
        let time_s = rows.time_s(row);
        let station = (rows.station_m[row], rows.station_m[row]);
        if low < least_limit {
            dips.outside(time_s, station, low)
        } else {
            dips.inside(time_s)
        }
        if high > most_limit {
            overs.outside(time_s, station, high)
        } else {
            overs.inside(time_s)
        }
        length.step(
            rows.progress_m(row),
            low >= least_limit && high <= most_limit,
        );
    }
    let end_s = rows.time_s((last + 1).min(rows.len() - 1));
    found.dips = dips.finish(end_s);
    found.overs = overs.finish(end_s);
    if least.is_some() || most.is_some() {
        found.in_band_percent = length.percent();
    }
    found
}
