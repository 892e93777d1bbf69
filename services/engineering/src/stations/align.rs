//! Openings registered before lining against openings seen after it.

use super::Opening;
use super::fit::{Line, least_squares};
use super::pairing::{Pairing, pair, residuals};

/// How far two surveys may lie apart before it is a finding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MatchLimits {
    /// Residual of a pair's station, m.
    pub station_m: f64,
    /// Residual of a pair's clock position, h.
    pub clock_h: f64,
    /// Offset between the surveys from which their datum is in doubt, m.
    pub offset_m: f64,
    /// Difference of scale from which a counter is in doubt, percent.
    pub scale_percent: f64,
    /// Largest offset tried, m.
    pub offset_reach_m: f64,
}

/// Two entries taken as the same opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Place in the list before.
    pub before: usize,
    /// Place in the list after.
    pub after: usize,
    /// Station after less the fitted one, m.
    pub station_residual_m: f64,
    /// Hours between the clock positions; none when one was not noted.
    pub clock_residual_h: Option<f64>,
}

/// What is wrong between the two lists. Places are those in the lists as given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Finding {
    /// The surveys are shifted: their datum differs.
    DatumOffset {
        /// Station after of the place that was zero before, m.
        offset_m: f64,
    },
    /// The surveys differ in scale: a counter is off.
    CounterScale {
        /// Length after less length before, in percent of the latter.
        percent: f64,
    },
    /// An entry before without an opening after.
    NotSeen {
        /// Place in the list before.
        before: usize,
    },
    /// An opening after without an entry before.
    NotRegistered {
        /// Place in the list after.
        after: usize,
    },
    /// A pair whose stations lie apart.
    StationApart(Pair),
    /// A pair whose clock positions lie apart.
    ClockApart(Pair),
}

/// Two lists laid over each other; each entry is in one pair at most.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// Offset of the fitted line, m.
    pub offset_m: f64,
    /// Scale of the fitted line; 1 when too few pairs tell one.
    pub scale: f64,
    /// Pairs in order along the pipe.
    pub pairs: Vec<Pair>,
    /// Findings: datum, counter, entries alone, then pairs apart.
    pub findings: Vec<Finding>,
}

impl Default for MatchLimits {
    /// 0.3 m, 1 h, 0.3 m, 1.5 percent and 3 m: own proposal.
    fn default() -> Self {
        Self {
            station_m: 0.3,
            clock_h: 1.0,
            offset_m: 0.3,
            scale_percent: 1.5,
            offset_reach_m: 3.0,
        }
    }
}

/// Scales tried, in percent off one either way, and their step.
const SCALE_REACH_PERCENT: i32 = 4;
const SCALE_STEP_PERCENT: f64 = 0.5;
/// Price in limits of an offset or a scale at the end of its reach, so that of two explanations
/// that leave as many entries alone the plainer one is taken.
const UNLIKELY: f64 = 0.9;
/// Rounds of fitting and pairing; two or three are usual.
const ROUNDS_MAX: usize = 8;
/// Lines tried at most; beyond it the rest are left out.
const LINES_MAX: usize = 20_000;

/// Lays two lists of openings over each other by order and clock, with one offset and one scale.
///
/// Every offset that some pair of entries suggests is tried, so that an opening missing in one
/// list does not shift the later ones; the cheapest is refined.
///
/// # Equation
///
/// ```text
/// after = offset + scale · before, least squares over the pairs within the limits
/// cost  = Σ over pairs of |residual| / limit (station and clock) + 2 per entry alone
/// ```
///
/// # Units
///
/// Stations and offset in m, clock in h, scale without unit.
///
/// # Range
///
/// Finite stations; an offset needs two pairs, a scale three that spread over 10 m.
///
/// # Source
///
/// Own definition; an alignment of two sequences with a price for each entry left out.
///
/// # Example
///
/// Own example, checked by hand: the middle one of three was not opened, the datum is 0.6 m off.
///
/// ```
/// # use obvert_engineering::stations::{Finding, MatchLimits, Opening, align};
/// let list = |entries: &[(f64, f64)]| -> Vec<Opening> {
///     let opening = |&(station_m, clock_h): &(f64, f64)| Opening {
///         label: format!("at {station_m}"),
///         station_m,
///         clock_h: Some(clock_h),
///     };
///     entries.iter().map(opening).collect()
/// };
/// let before = list(&[(5.0, 10.0), (9.0, 2.0), (16.0, 10.0)]);
/// let after = list(&[(5.6, 10.0), (16.6, 10.0)]);
/// let found = align(&before, &after, &MatchLimits::default());
/// assert!((found.offset_m - 0.6).abs() < 1e-9);
/// assert!(found.findings.contains(&Finding::NotSeen { before: 1 }));
/// ```
pub fn align(before: &[Opening], after: &[Opening], limits: &MatchLimits) -> Alignment {
    let (before_order, before_sorted) = sorted(before);
    let (after_order, after_sorted) = sorted(after);
    let (line, pairing) = best_line(&before_sorted, &after_sorted, limits);
    let pairs: Vec<Pair> = pairing
        .pairs
        .iter()
        .map(|&(b, a)| {
            let (station_residual_m, clock_residual_h) =
                residuals(&before_sorted[b], &after_sorted[a], line);
            Pair {
                before: before_order[b],
                after: after_order[a],
                station_residual_m,
                clock_residual_h,
            }
        })
        .collect();
    let findings = findings(before.len(), after.len(), line, &pairs, limits);
    Alignment {
        offset_m: line.offset_m,
        scale: line.scale,
        pairs,
        findings,
    }
}

fn sorted(openings: &[Opening]) -> (Vec<usize>, Vec<Opening>) {
    let mut order: Vec<usize> = (0..openings.len()).collect();
    order.sort_by(|&a, &b| openings[a].station_m.total_cmp(&openings[b].station_m));
    let list = order.iter().map(|&place| openings[place].clone()).collect();
    (order, list)
}

/// The line that explains the lists at the least cost, refined, with its pairs.
fn best_line(before: &[Opening], after: &[Opening], limits: &MatchLimits) -> (Line, Pairing) {
    let mut best = refined(before, after, Line::SAME, limits);
    let mut price = best.1.cost + unlikely(best.0, limits);
    for start in suggested_lines(before, after, limits) {
        let rough = pair(before, after, start, limits);
        // Refining takes away residuals, but brings no entry in from far away.
        if rough.cost > 2.0 * price + 4.0 {
            continue;
        }
        let tried = refined(before, after, start, limits);
        let tried_price = tried.1.cost + unlikely(tried.0, limits);
        if tried_price < price - 1e-9 {
            (best, price) = (tried, tried_price);
        }
    }
    best
}

/// Fits and pairs in turn until the pairs stay.
fn refined(
    before: &[Opening],
    after: &[Opening],
    start: Line,
    limits: &MatchLimits,
) -> (Line, Pairing) {
    let mut pairing = pair(before, after, start, limits);
    let mut line = start;
    for _ in 0..ROUNDS_MAX {
        let stations = |&(b, a): &(usize, usize)| (before[b].station_m, after[a].station_m);
        let all: Vec<(f64, f64)> = pairing.pairs.iter().map(stations).collect();
        let rough = least_squares(&all);
        let close = |pair: &&(f64, f64)| (pair.1 - rough.at(pair.0)).abs() <= limits.station_m;
        let kept: Vec<(f64, f64)> = all.iter().filter(close).copied().collect();
        line = if kept.len() >= 2 {
            least_squares(&kept)
        } else {
            rough
        };
        let next = pair(before, after, line, limits);
        let settled = next.pairs == pairing.pairs;
        pairing = next;
        if settled {
            break;
        }
    }
    (line, pairing)
}

/// Price of a line that is far from no offset and no scale.
fn unlikely(line: Line, limits: &MatchLimits) -> f64 {
    let offset = line.offset_m.abs() / limits.offset_reach_m;
    let scale = (line.scale - 1.0).abs() * 100.0 / f64::from(SCALE_REACH_PERCENT);
    if offset > 2.0 || scale > 2.0 {
        return f64::INFINITY;
    }
    UNLIKELY * (offset + scale)
}

/// Lines through each pair of entries within reach, at each scale.
fn suggested_lines(before: &[Opening], after: &[Opening], limits: &MatchLimits) -> Vec<Line> {
    let steps = (f64::from(SCALE_REACH_PERCENT) / SCALE_STEP_PERCENT) as i32;
    let mut lines = Vec::new();
    for step in -steps..=steps {
        let scale = 1.0 + f64::from(step) * SCALE_STEP_PERCENT / 100.0;
        for b in before {
            for a in after {
                let offset_m = a.station_m - scale * b.station_m;
                if offset_m.abs() <= limits.offset_reach_m && lines.len() < LINES_MAX {
                    lines.push(Line { offset_m, scale });
                }
            }
        }
    }
    lines
}

fn findings(
    before: usize,
    after: usize,
    line: Line,
    pairs: &[Pair],
    limits: &MatchLimits,
) -> Vec<Finding> {
    let mut found = Vec::new();
    if line.offset_m.abs() > limits.offset_m {
        found.push(Finding::DatumOffset {
            offset_m: line.offset_m,
        });
    }
    let percent = (line.scale - 1.0) * 100.0;
    if percent.abs() > limits.scale_percent {
        found.push(Finding::CounterScale { percent });
    }
    let paired = |entry: usize, side: fn(&Pair) -> usize| pairs.iter().any(|p| side(p) == entry);
    let alone = (0..before).filter(|entry| !paired(*entry, |pair| pair.before));
    found.extend(alone.map(|before| Finding::NotSeen { before }));
    let alone = (0..after).filter(|entry| !paired(*entry, |pair| pair.after));
    found.extend(alone.map(|after| Finding::NotRegistered { after }));
    for pair in pairs {
        if pair.station_residual_m.abs() > limits.station_m {
            found.push(Finding::StationApart(*pair));
        }
        if pair
            .clock_residual_h
            .is_some_and(|hours| hours > limits.clock_h)
        {
            found.push(Finding::ClockApart(*pair));
        }
    }
    found
}
