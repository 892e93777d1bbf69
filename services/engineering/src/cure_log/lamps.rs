//! Lamps that were off in travel, and stretches with too few lit.

use std::ops::Range;

use super::rows::{LIT_UNKNOWN, lamp_bits};
use super::spans::SpanWatch;
use super::{Band, LIST_LIMIT, Rows, Setup, Spans, StationRange};

/// Lamps of the travel phase.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LampFigures {
    /// Times at which one lamp was off, in order of their end, bounded by [`LIST_LIMIT`].
    pub outages: Vec<LampOutage>,
    /// Lamps off times their time, s, over all outages.
    pub off_lamp_s: f64,
    /// Longest outage, s.
    pub longest_outage_s: f64,
    /// Fewest lamps lit in travel.
    pub least_lit: Option<u8>,
    /// Most lamps lit in travel.
    pub most_lit: Option<u8>,
    /// Stretches with fewer lamps lit than the band asks; the value is the fewest. Stations are
    /// those of the whole train.
    pub below_band: Spans,
    /// Stations swept by lit lamps, over the whole log.
    pub swept: Option<StationRange>,
}

/// One lamp off in travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LampOutage {
    /// Number of the lamp, the leading one 0; none when the log only counts lamps.
    pub lamp: Option<usize>,
    /// Lamps off together; one where the lamp is known.
    pub lamps_off: usize,
    /// Beginning, s since the log's start.
    pub from_s: f64,
    /// End, s since the log's start.
    pub to_s: f64,
    /// Stations that the lamp, not the train's reference point, passed meanwhile.
    pub stations: StationRange,
}

pub(super) fn lamps(
    rows: &Rows<'_>,
    travel: &Range<usize>,
    setup: &Setup,
    band: Option<&Band>,
) -> LampFigures {
    let mut found = LampFigures {
        swept: swept(rows, setup),
        ..LampFigures::default()
    };
    if travel.is_empty() {
        return found;
    }
    let known = || {
        rows.lit[travel.clone()]
            .iter()
            .copied()
            .filter(|lit| *lit != LIT_UNKNOWN)
    };
    found.least_lit = known().min();
    found.most_lit = known().max();
    found.below_band = below_band(rows, travel, setup, band);
    let mut state = Off::new(rows, setup);
    for row in travel.clone() {
        match rows.mask(row) {
            Some(mask) => state.change(row, !mask & state.all, None, &mut found),
            None if rows.lit[row] != LIT_UNKNOWN => {
                let missing = state.since.len().saturating_sub(usize::from(rows.lit[row]));
                state.change(row, 0, (missing > 0).then_some(missing), &mut found);
            }
            None => {}
        }
    }
    let end = travel.end.min(rows.len() - 1);
    state.change(end, 0, None, &mut found);
    found
}

/// Which lamps are off since which row.
struct Off<'a, 'b> {
    rows: &'a Rows<'b>,
    offsets_m: &'a [f64],
    all: u32,
    off: u32,
    since: Vec<usize>,
    /// Number of lamps off, by count alone, since which row.
    counted: Option<(usize, usize)>,
}

impl<'a, 'b> Off<'a, 'b> {
    fn new(rows: &'a Rows<'b>, setup: &'a Setup) -> Self {
        let offsets_m = &setup.train.lamp_offsets_m;
        let all = lamp_bits(offsets_m.len());
        Self {
            rows,
            offsets_m,
            all,
            off: 0,
            since: vec![0; offsets_m.len()],
            counted: None,
        }
    }

    /// Takes over the states of a row; nothing to do as long as they stay the same.
    #[inline]
    fn change(&mut self, row: usize, off: u32, counted: Option<usize>, found: &mut LampFigures) {
        if off != self.off {
            for lamp in 0..self.offsets_m.len() {
                let bit = 1 << lamp;
                match (self.off & bit != 0, off & bit != 0) {
                    (false, true) => self.since[lamp] = row,
                    (true, false) => {
                        let range = self.since[lamp]..row;
                        self.list(Some(lamp), 1, range, found);
                    }
                    _ => {}
                }
            }
            self.off = off;
        }
        if counted != self.counted.map(|(lamps_off, _)| lamps_off) {
            if let Some((lamps_off, from)) = self.counted {
                self.list(None, lamps_off, from..row, found);
            }
            self.counted = counted.map(|lamps_off| (lamps_off, row));
        }
    }

    fn list(
        &self,
        lamp: Option<usize>,
        lamps_off: usize,
        range: Range<usize>,
        found: &mut LampFigures,
    ) {
        let (from_s, to_s) = (self.rows.time_s(range.start), self.rows.time_s(range.end));
        let offsets = match lamp {
            Some(lamp) => &self.offsets_m[lamp..=lamp],
            None => self.offsets_m,
        };
        found.off_lamp_s += lamps_off as f64 * (to_s - from_s);
        found.longest_outage_s = found.longest_outage_s.max(to_s - from_s);
        if found.outages.len() < LIST_LIMIT {
            let stations = shifted(self.rows, range, offsets);
            found.outages.push(LampOutage {
                lamp,
                lamps_off,
                from_s,
                to_s,
                stations,
            });
        }
    }
}

/// Stations that parts with these offsets passed between two rows, both included.
fn shifted(rows: &Rows<'_>, range: Range<usize>, offsets_m: &[f64]) -> StationRange {
    let stations = &rows.station_m[range.start..=range.end];
    let low = stations.iter().copied().fold(f64::INFINITY, f64::min);
    let high = stations.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let shifts = || offsets_m.iter().map(|offset| rows.shift_m(*offset));
    StationRange {
        from_m: low + shifts().fold(f64::INFINITY, f64::min),
        to_m: high + shifts().fold(f64::NEG_INFINITY, f64::max),
    }
}

fn below_band(rows: &Rows<'_>, travel: &Range<usize>, setup: &Setup, band: Option<&Band>) -> Spans {
    let Some(least) = band.and_then(|band| band.lamps_least) else {
        return Spans::default();
    };
    let shifts = || {
        setup
            .train
            .lamp_offsets_m
            .iter()
            .map(|offset| rows.shift_m(*offset))
    };
    let (low, high) = (
        shifts().fold(f64::INFINITY, f64::min),
        shifts().fold(f64::NEG_INFINITY, f64::max),
    );
    let mut watch = SpanWatch::keep_lowest(0.0);
    for row in travel.clone() {
        let lit = rows.lit[row];
        if lit == LIT_UNKNOWN {
            continue;
        }
        if u32::from(lit) < least {
            let station = rows.station_m[row];
            watch.outside(
                rows.time_s(row),
                (station + low, station + high),
                f64::from(lit),
            );
        } else {
            watch.inside(rows.time_s(row));
        }
    }
    watch.finish(rows.time_s(travel.end.min(rows.len() - 1)))
}

/// Lowest and highest station that a lit lamp passed.
fn swept(rows: &Rows<'_>, setup: &Setup) -> Option<StationRange> {
    let (first, last) = rows.lit_rows?;
    let offsets = &setup.train.lamp_offsets_m;
    let mut range = StationRange {
        from_m: f64::INFINITY,
        to_m: f64::NEG_INFINITY,
    };
    let mut of_mask = None;
    let mut shifts = (0.0, 0.0);
    for row in first..=last {
        if matches!(rows.lit[row], 0 | LIT_UNKNOWN) {
            continue;
        }
        let mask = rows.mask(row).unwrap_or(u32::MAX);
        if of_mask != Some(mask) {
            of_mask = Some(mask);
            let lit = offsets
                .iter()
                .enumerate()
                .filter(|(lamp, _)| mask & (1 << lamp) != 0);
            let lit: Vec<f64> = lit.map(|(_, offset)| rows.shift_m(*offset)).collect();
            shifts.0 = lit.iter().copied().fold(f64::INFINITY, f64::min);
            shifts.1 = lit.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        }
        range.from_m = range.from_m.min(rows.station_m[row] + shifts.0);
        range.to_m = range.to_m.max(rows.station_m[row] + shifts.1);
    }
    (range.from_m <= range.to_m).then_some(range)
}
