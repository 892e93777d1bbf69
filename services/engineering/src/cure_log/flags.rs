//! Marks of a damaged or doubtful log: gaps, jumps, backward motion, impossible readings.

use super::rows::value;
use super::spans::SpanWatch;
use super::{Rows, Settings, Span, Spans};

/// What is doubtful about the rows, judged from the first lamp lit to the last one off.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Flags {
    /// Median time between rows of the whole log, s.
    pub median_interval_s: Option<f64>,
    /// Intervals without rows, longer than the limit; the value is the interval, s.
    pub gaps: Spans,
    /// Changes of position in one row beyond the limit; the value is the change, m.
    pub jumps: Spans,
    /// Stretches in which the train was behind its furthest position; the value is the way, m.
    pub backward: Spans,
    /// Rows with lamps lit and a speed, pressure or temperature that cannot be right.
    pub implausible_rows: usize,
    /// Rows in which mask and count of lamps lit disagree.
    pub lamp_disagreement_rows: usize,
    /// Rows whose lamps lit are not known, between the first lamp lit and the last one off.
    pub lamps_unknown_rows: usize,
}

/// Longest interval between rows that is no gap, s.
pub(super) fn gap_limit_s(median_interval_s: Option<f64>, settings: &Settings) -> f64 {
    median_interval_s.map_or(f64::INFINITY, |median| median * settings.gap_factor)
}

pub(super) fn median_interval_s(rows: &Rows<'_>) -> Option<f64> {
    let times = &rows.channels.elapsed_s;
    let mut steps: Vec<f64> = times
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .filter(|step| *step > 0.0)
        .collect();
    if steps.is_empty() {
        return None;
    }
    let middle = steps.len() / 2;
    Some(*steps.select_nth_unstable_by(middle, f64::total_cmp).1)
}

pub(super) fn flags(rows: &Rows<'_>, settings: &Settings) -> Flags {
    let mut flags = Flags {
        median_interval_s: median_interval_s(rows),
        ..Flags::default()
    };
    let Some((first, last)) = rows.lit_rows else {
        return flags;
    };
    let limit_s = gap_limit_s(flags.median_interval_s, settings);
    let end = (last + 1).min(rows.len() - 1);
    let mut furthest = rows.progress_m(first);
    let mut backward = SpanWatch::keep_highest(0.0);
    for row in first..end {
        let step_s = rows.time_s(row + 1) - rows.time_s(row);
        let step_m = rows.station_m[row + 1] - rows.station_m[row];
        if step_s > limit_s {
            flags.gaps.push(between(rows, row, step_s));
        }
        if step_m.abs() > settings.jump_m {
            flags.jumps.push(between(rows, row, step_m.abs()));
        }
        let progress = rows.progress_m(row + 1);
        let behind = furthest - progress;
        furthest = furthest.max(progress);
        if behind > settings.backward_m {
            let stations = (rows.station_m[row + 1], furthest * rows.travel_sign);
            backward.outside(rows.time_s(row + 1), stations, behind);
        } else {
            backward.inside(rows.time_s(row + 1));
        }
    }
    flags.backward = backward.finish(rows.time_s(end));
    count_rows(rows, first, last, settings, &mut flags);
    flags
}

fn between(rows: &Rows<'_>, row: usize, value: f64) -> Span {
    let (a, b) = (rows.station_m[row], rows.station_m[row + 1]);
    Span {
        from_s: rows.time_s(row),
        to_s: rows.time_s(row + 1),
        station_from_m: a.min(b),
        station_to_m: a.max(b),
        value,
    }
}

fn count_rows(rows: &Rows<'_>, first: usize, last: usize, settings: &Settings, flags: &mut Flags) {
    let channels = &*rows.channels;
    let both = !channels.lamp_mask.is_empty() && !channels.lamps_on.is_empty();
    for row in first..=last {
        let lit = rows.lit[row];
        if lit == super::rows::LIT_UNKNOWN {
            flags.lamps_unknown_rows += 1;
            continue;
        }
        if lit == 0 {
            continue;
        }
        let hot = |column: &Vec<f64>| {
            column[row].is_finite() && column[row] > settings.plausible_temperature_c
        };
        let implausible = value(&channels.speed_m_per_min, row)
            > settings.plausible_speed_m_per_min
            || value(&channels.pressure_bar_g, row) > settings.plausible_pressure_bar_g
            || value(&channels.pressure2_bar_g, row) > settings.plausible_pressure_bar_g
            || channels
                .infrared_c
                .iter()
                .filter(|column| !column.is_empty())
                .any(hot);
        flags.implausible_rows += usize::from(implausible);
        if both {
            let counted = channels.lamps_on[row];
            let differs = counted.is_finite() && (counted - f64::from(lit)).abs() > 0.5;
            flags.lamp_disagreement_rows += usize::from(differs);
        }
    }
}
