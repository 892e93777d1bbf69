//! A value at a station, and stretches of a run that are listed.

use super::Rows;

/// Stretches kept in one list; the rest are counted in [`Spans::left_out`].
pub const LIST_LIMIT: usize = 500;

/// A value and where along the run it was met.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// The value, in the unit of the figure it belongs to.
    pub value: f64,
    /// Station, m.
    pub station_m: f64,
    /// Time since the log's start, s.
    pub elapsed_s: f64,
}

/// A stretch in time and along the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Beginning, s since the log's start.
    pub from_s: f64,
    /// End, s since the log's start.
    pub to_s: f64,
    /// Lower station, m.
    pub station_from_m: f64,
    /// Higher station, m.
    pub station_to_m: f64,
    /// The worst value within, in the unit of the list.
    pub value: f64,
}

/// Stretches in order of time, bounded by [`LIST_LIMIT`].
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Spans {
    /// The first stretches.
    pub list: Vec<Span>,
    /// How many more there were.
    pub left_out: usize,
}

impl Span {
    /// Length in time, s.
    pub fn duration_s(&self) -> f64 {
        self.to_s - self.from_s
    }
}

impl Spans {
    /// Number of stretches, listed or not.
    pub fn count(&self) -> usize {
        self.list.len() + self.left_out
    }

    pub(super) fn push(&mut self, span: Span) {
        if self.list.len() < LIST_LIMIT {
            self.list.push(span);
        } else {
            self.left_out += 1;
        }
    }
}

/// Gathers rows outside a limit into stretches.
pub(super) struct SpanWatch {
    least_s: f64,
    /// Plus one keeps the highest value of a stretch, minus one the lowest.
    worse: f64,
    open: Option<Open>,
    spans: Spans,
}

struct Open {
    from_s: f64,
    low_m: f64,
    high_m: f64,
    worst: f64,
}

impl SpanWatch {
    pub(super) fn keep_highest(least_s: f64) -> Self {
        Self {
            least_s,
            worse: 1.0,
            open: None,
            spans: Spans::default(),
        }
    }

    pub(super) fn keep_lowest(least_s: f64) -> Self {
        Self {
            least_s,
            worse: -1.0,
            open: None,
            spans: Spans::default(),
        }
    }

    /// One row that lies outside; stations are those it touches.
    pub(super) fn outside(&mut self, time_s: f64, stations_m: (f64, f64), value: f64) {
        let low_m = stations_m.0.min(stations_m.1);
        let high_m = stations_m.0.max(stations_m.1);
        match &mut self.open {
            None => {
                self.open = Some(Open {
                    from_s: time_s,
                    low_m,
                    high_m,
                    worst: value,
                })
            }
            Some(open) => {
                open.low_m = open.low_m.min(low_m);
                open.high_m = open.high_m.max(high_m);
                if (value - open.worst) * self.worse > 0.0 {
                    open.worst = value;
                }
            }
        }
    }

    /// One row that lies inside, or the end of the judged rows: closes an open stretch. The row
    /// before holds until this one, so the stretch lasts until `time_s`.
    #[inline]
    pub(super) fn inside(&mut self, time_s: f64) {
        if self.open.is_some() {
            self.close(time_s);
        }
    }

    pub(super) fn finish(mut self, time_s: f64) -> Spans {
        self.inside(time_s);
        self.spans
    }

    fn close(&mut self, time_s: f64) {
        let Some(open) = self.open.take() else { return };
        if time_s - open.from_s >= self.least_s {
            self.spans.push(Span {
                from_s: open.from_s,
                to_s: time_s,
                station_from_m: open.low_m,
                station_to_m: open.high_m,
                value: open.worst,
            });
        }
    }
}

/// The higher (`worse` = 1) or lower (-1) of a kept value and one met at a row.
pub(super) fn keep(best: &mut Option<At>, worse: f64, value: f64, rows: &Rows<'_>, row: usize) {
    if best.is_none_or(|at| (value - at.value) * worse > 0.0) {
        *best = Some(At {
            value,
            station_m: rows.station_m[row],
            elapsed_s: rows.time_s(row),
        });
    }
}
