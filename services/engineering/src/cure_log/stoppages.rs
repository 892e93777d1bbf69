//! Where the train stood still in travel.

use std::ops::Range;

use super::rows::LIT_UNKNOWN;
use super::{LIST_LIMIT, Rows, Settings};

/// One stop of the train in its travel phase. With lamps lit the wall may overheat; without,
/// the stretch under the train stays without light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stoppage {
    /// Station of the train's reference point, m.
    pub station_m: f64,
    /// Beginning, s since the log's start.
    pub from_s: f64,
    /// Time, s.
    pub duration_s: f64,
    /// Fewest lamps lit meanwhile; none where it is not known.
    pub lamps_least: Option<u8>,
    /// Most lamps lit meanwhile; none where it is not known.
    pub lamps_most: Option<u8>,
}

/// A counter's jitter that is no movement, m.
const JITTER_M: f64 = 0.004;

/// Stops in order of time, bounded by [`LIST_LIMIT`].
///
/// A row stands when the train has hardly moved since the row at least one stop's time before.
/// Two rows alone would not do: a counter's jitter between them may pass the speed limit.
pub(super) fn stoppages(
    rows: &Rows<'_>,
    travel: &Range<usize>,
    settings: &Settings,
) -> Vec<Stoppage> {
    let times = &rows.channels.elapsed_s;
    let stations = &rows.station_m;
    let m_per_s = settings.stop_speed_m_per_min / 60.0;
    let mut found = Vec::new();
    let mut open: Option<(usize, usize)> = None;
    let mut before = travel.start;
    for row in travel.clone() {
        while before < row && times[row] - times[before + 1] >= settings.stop_least_s {
            before += 1;
        }
        let time_s = times[row] - times[before];
        let way_m = (stations[row] - stations[before]).abs();
        if time_s >= settings.stop_least_s && way_m <= JITTER_M.max(m_per_s * time_s) {
            open = Some((open.map_or(before, |(from, _)| from), row));
        } else if let Some((from, to)) = open.take() {
            found.push(stoppage(rows, from, to));
        }
        if found.len() == LIST_LIMIT {
            return found;
        }
    }
    found.extend(open.map(|(from, to)| stoppage(rows, from, to)));
    found
}

fn stoppage(rows: &Rows<'_>, from: usize, to: usize) -> Stoppage {
    let known = || {
        rows.lit[from..=to]
            .iter()
            .copied()
            .filter(|lit| *lit != LIT_UNKNOWN)
    };
    Stoppage {
        station_m: rows.station_m[from],
        from_s: rows.time_s(from),
        duration_s: rows.time_s(to) - rows.time_s(from),
        lamps_least: known().min(),
        lamps_most: known().max(),
    }
}
