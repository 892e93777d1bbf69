//! Phases of a run: inflation hold, ramp-up, travel, ramp-down, cool-down.

use std::ops::Range;

use super::Rows;
use super::rows::LIT_UNKNOWN;

/// What the train does in a stretch of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PhaseKind {
    /// Under pressure before the first lamp is lit.
    InflationHold,
    /// From the first lamp until the train travels with its lamps lit.
    RampUp,
    /// Travel along the run.
    Travel,
    /// Lamps go off at the end while the train stands or creeps.
    RampDown,
    /// After the last lamp is off.
    CoolDown,
}

/// One phase with its time and stations of the train's reference point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// Which phase.
    pub kind: PhaseKind,
    /// Beginning, s since the log's start.
    pub from_s: f64,
    /// End, s since the log's start.
    pub to_s: f64,
    /// Station at the beginning, m.
    pub station_from_m: f64,
    /// Station at the end, m.
    pub station_to_m: f64,
}

/// Way past its own length that a train may creep while lamps are lit or put out, m.
const CREEP_BEYOND_TRAIN_M: f64 = 0.5;
/// Movement from which the train has surely left its place, m.
const MOVED_M: f64 = 0.05;
/// Movement within which it still stands there, m.
const STANDS_M: f64 = 0.01;

/// Rows of the travel phase, both ends included in the rows with lamps lit; empty without lamps.
pub(crate) fn travel_rows(rows: &Rows<'_>, train_length_m: f64) -> Range<usize> {
    let Some((first, last)) = rows.lit_rows else {
        return 0..0;
    };
    let reach_m = train_length_m + CREEP_BEYOND_TRAIN_M;
    let from = onset(rows, &near(rows, first..=last, reach_m));
    let back = onset(rows, &near(rows, (first..=last).rev(), reach_m));
    if from < back {
        from..back + 1
    } else {
        first..last + 1
    }
}

/// All phases in order; those that take no time are left out.
pub(super) fn phases(rows: &Rows<'_>, travel: &Range<usize>) -> Vec<Phase> {
    let Some((first, last)) = rows.lit_rows else {
        return Vec::new();
    };
    let end = rows.len() - 1;
    let off = (last + 1).min(end);
    let travel_end = travel.end.saturating_sub(1).max(travel.start);
    let bounds = [
        (PhaseKind::InflationHold, 0, first),
        (PhaseKind::RampUp, first, travel.start),
        (PhaseKind::Travel, travel.start, travel_end),
        (PhaseKind::RampDown, travel_end, off),
        (PhaseKind::CoolDown, off, end),
    ];
    bounds
        .into_iter()
        .filter(|(_, from, to)| from < to)
        .map(|(kind, from, to)| Phase {
            kind,
            from_s: rows.time_s(from),
            to_s: rows.time_s(to),
            station_from_m: rows.station_m[from],
            station_to_m: rows.station_m[to],
        })
        .collect()
}

/// Row at which the train, with as many lamps as it reaches near its end, leaves its place.
///
/// The most lamps near the end count, not the most of the run: a lamp that failed half-way would
/// else stretch the ramp over the whole of what the train may creep.
fn onset(rows: &Rows<'_>, near: &[usize]) -> usize {
    let count = |row: &usize| match rows.lit[*row] {
        LIT_UNKNOWN => 0,
        lit => lit,
    };
    let most = near.iter().map(count).max().unwrap_or(0);
    let Some(full) = near.iter().position(|row| count(row) == most) else {
        return 0;
    };
    let place = rows.station_m[near[full]];
    let mut stands = near[full];
    for &row in &near[full..] {
        let moved = (rows.station_m[row] - place).abs();
        if moved > MOVED_M {
            break;
        }
        if moved <= STANDS_M {
            stands = row;
        }
    }
    stands
}

/// Rows, from the first one on, until the train is farther away than `reach_m`.
fn near(rows: &Rows<'_>, order: impl Iterator<Item = usize>, reach_m: f64) -> Vec<usize> {
    let mut start = None;
    order
        .take_while(|&row| {
            let place = *start.get_or_insert(rows.station_m[row]);
            (rows.station_m[row] - place).abs() <= reach_m
        })
        .collect()
}
