//! Travel speed on a sliding window, so that a counter's jitter is no deviation.

use std::ops::Range;

use super::spans::SpanWatch;
use super::{At, Band, Rows, Settings, Spans};

/// Speed of the travel phase.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SpeedFigures {
    /// Length of the travel phase over its time, m/min.
    pub mean_m_per_min: Option<f64>,
    /// Slowest window, m/min.
    pub slowest: Option<At>,
    /// Fastest window, m/min.
    pub fastest: Option<At>,
    /// Speed that 95 percent of the windows do not pass, m/min.
    pub p95_m_per_min: Option<f64>,
    /// Share of the travelled length within the band, percent; none without a speed limit.
    pub in_band_percent: Option<f64>,
    /// Stretches slower than the band, with the slowest window, m/min.
    pub slow: Spans,
    /// Stretches faster than the band, with the fastest window, m/min.
    pub fast: Spans,
}

/// Speed between two rows, m/min.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Window {
    pub(crate) from_row: usize,
    pub(crate) to_row: usize,
    pub(crate) m_per_min: f64,
}

/// Calls `visit` for each row of `range` that ends a window of at least the settings' time and
/// length, with the shortest such window.
#[inline]
pub(crate) fn windows(
    rows: &Rows<'_>,
    range: Range<usize>,
    settings: &Settings,
    mut visit: impl FnMut(Window),
) {
    let times = &rows.channels.elapsed_s;
    let stations = &rows.station_m;
    let mut from = range.start;
    for to in range {
        let wide_enough = |from: usize| {
            times[to] - times[from] >= settings.window_s
                && (stations[to] - stations[from]).abs() >= settings.window_m
        };
        while from < to && wide_enough(from + 1) {
            from += 1;
        }
        if wide_enough(from) {
            let way_m = (stations[to] - stations[from]).abs();
            let m_per_min = way_m / (times[to] - times[from]) * 60.0;
            visit(Window {
                from_row: from,
                to_row: to,
                m_per_min,
            });
        }
    }
}

pub(super) fn speed(
    rows: &Rows<'_>,
    travel: &Range<usize>,
    settings: &Settings,
    band: Option<&Band>,
) -> SpeedFigures {
    let Some(last) = travel
        .end
        .checked_sub(1)
        .filter(|last| *last > travel.start)
    else {
        return SpeedFigures::default();
    };
    let least = band.and_then(|band| band.speed_min_m_per_min);
    let most = band.and_then(|band| band.speed_max_m_per_min);
    let (least_limit, most_limit) = (
        least.unwrap_or(f64::NEG_INFINITY),
        most.unwrap_or(f64::INFINITY),
    );
    let mut found = SpeedFigures::default();
    let mut slow = SpanWatch::keep_lowest(0.0);
    let mut fast = SpanWatch::keep_highest(0.0);
    let mut speeds: Vec<f64> = Vec::with_capacity(travel.len());
    let mut length = InBandLength::new(rows.progress_m(travel.start));
    windows(rows, travel.clone(), settings, |window| {
        let v = window.m_per_min;
        speeds.push(v);
        keep_window(&mut found.slowest, -1.0, rows, window);
        keep_window(&mut found.fastest, 1.0, rows, window);
        let time_s = rows.time_s(window.to_row);
        let stations = (
            rows.station_m[window.from_row],
            rows.station_m[window.to_row],
        );
        if v < least_limit {
            slow.outside(time_s, stations, v)
        } else {
            slow.inside(time_s)
        }
        if v > most_limit {
            fast.outside(time_s, stations, v)
        } else {
            fast.inside(time_s)
        }
        length.step(
            rows.progress_m(window.to_row),
            v >= least_limit && v <= most_limit,
        );
    });
    let end_s = rows.time_s(last);
    found.slow = slow.finish(end_s);
    found.fast = fast.finish(end_s);
    let way_m = (rows.station_m[last] - rows.station_m[travel.start]).abs();
    found.mean_m_per_min = Some(way_m / (end_s - rows.time_s(travel.start)) * 60.0);
    if !speeds.is_empty() {
        let rank = ((speeds.len() as f64 * 0.95).ceil() as usize).saturating_sub(1);
        found.p95_m_per_min = Some(*speeds.select_nth_unstable_by(rank, f64::total_cmp).1);
    }
    if least.is_some() || most.is_some() {
        found.in_band_percent = length.percent();
    }
    found
}

#[inline]
fn keep_window(best: &mut Option<At>, worse: f64, rows: &Rows<'_>, window: Window) {
    let Window {
        from_row,
        to_row,
        m_per_min,
    } = window;
    if best.is_none_or(|at| (m_per_min - at.value) * worse > 0.0) {
        *best = Some(At {
            value: m_per_min,
            station_m: f64::midpoint(rows.station_m[from_row], rows.station_m[to_row]),
            elapsed_s: f64::midpoint(rows.time_s(from_row), rows.time_s(to_row)),
        });
    }
}

/// Length travelled for the first time, and how much of it was within limits. Standing still or
/// going over a stretch again adds nothing, so a stop cannot dilute a deviation.
pub(super) struct InBandLength {
    furthest_m: f64,
    total_m: f64,
    inside_m: f64,
}

impl InBandLength {
    pub(super) fn new(progress_m: f64) -> Self {
        Self {
            furthest_m: progress_m,
            total_m: 0.0,
            inside_m: 0.0,
        }
    }

    #[inline]
    pub(super) fn step(&mut self, progress_m: f64, inside: bool) {
        let new_m = (progress_m - self.furthest_m).max(0.0);
        self.furthest_m = self.furthest_m.max(progress_m);
        self.total_m += new_m;
        if inside {
            self.inside_m += new_m;
        }
    }

    pub(super) fn percent(&self) -> Option<f64> {
        (self.total_m > 0.0).then(|| 100.0 * self.inside_m / self.total_m)
    }
}
