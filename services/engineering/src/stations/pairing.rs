//! Which entry of one list is which of the other, for a given line, in order along the pipe.

use super::fit::Line;
use super::{MatchLimits, Opening, clock_difference_h};

/// Cost of an entry that stays without a partner, in limits. A pair costs its residuals in
/// limits, so two entries pair up while these add to less than twice this.
const ALONE: f64 = 2.0;
/// Residual in limits from which two entries are never the same opening.
const NEVER: f64 = 3.0;

/// Pairs by position in the lists, and what they cost together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Pairing {
    pub(super) pairs: Vec<(usize, usize)>,
    pub(super) cost: f64,
}

/// Station residual, m, and clock residual, h, of two entries under a line.
pub(super) fn residuals(before: &Opening, after: &Opening, line: Line) -> (f64, Option<f64>) {
    let station_m = after.station_m - line.at(before.station_m);
    let clock = before.clock_h.zip(after.clock_h);
    (
        station_m,
        clock.map(|(before_h, after_h)| clock_difference_h(before_h, after_h)),
    )
}

fn cost(before: &Opening, after: &Opening, line: Line, limits: &MatchLimits) -> Option<f64> {
    let (station_m, clock_h) = residuals(before, after, line);
    let station = station_m.abs() / limits.station_m;
    let clock = clock_h.unwrap_or(0.0) / limits.clock_h;
    (station <= NEVER && clock <= NEVER).then_some(station + clock)
}

/// Cheapest pairing that keeps the order along the pipe; then entries left over on both sides
/// that fit within the limits, for two openings so close that they changed places.
///
/// Both lists must be in order of station.
pub(super) fn pair(
    before: &[Opening],
    after: &[Opening],
    line: Line,
    limits: &MatchLimits,
) -> Pairing {
    let (rows, columns) = (before.len() + 1, after.len() + 1);
    let mut costs = vec![0.0; rows * columns];
    for b in 0..rows {
        for a in 0..columns {
            costs[b * columns + a] = match (b, a) {
                (0, _) => ALONE * a as f64,
                (_, 0) => ALONE * b as f64,
                _ => {
                    let alone =
                        ALONE + f64::min(costs[(b - 1) * columns + a], costs[b * columns + a - 1]);
                    cost(&before[b - 1], &after[a - 1], line, limits).map_or(alone, |pair| {
                        alone.min(pair + costs[(b - 1) * columns + a - 1])
                    })
                }
            };
        }
    }
    let mut pairs = Vec::new();
    let (mut b, mut a) = (before.len(), after.len());
    while b > 0 && a > 0 {
        let here = costs[b * columns + a];
        let paired = cost(&before[b - 1], &after[a - 1], line, limits)
            .is_some_and(|pair| here == pair + costs[(b - 1) * columns + a - 1]);
        if paired {
            pairs.push((b - 1, a - 1));
            (b, a) = (b - 1, a - 1);
        } else if here == ALONE + costs[(b - 1) * columns + a] {
            b -= 1;
        } else {
            a -= 1;
        }
    }
    let mut pairing = Pairing {
        pairs,
        cost: costs[rows * columns - 1],
    };
    pair_leftovers(before, after, line, limits, &mut pairing);
    pairing.pairs.sort_unstable();
    pairing
}

fn pair_leftovers(
    before: &[Opening],
    after: &[Opening],
    line: Line,
    limits: &MatchLimits,
    pairing: &mut Pairing,
) {
    let alone = |taken: Vec<usize>, count: usize| -> Vec<usize> {
        (0..count).filter(|entry| !taken.contains(entry)).collect()
    };
    let left_before = alone(
        pairing.pairs.iter().map(|pair| pair.0).collect(),
        before.len(),
    );
    let mut left_after = alone(
        pairing.pairs.iter().map(|pair| pair.1).collect(),
        after.len(),
    );
    for b in left_before {
        let fits = |a: &usize| {
            let (station_m, clock_h) = residuals(&before[b], &after[*a], line);
            let close = station_m.abs() <= limits.station_m
                && clock_h.is_some_and(|clock_h| clock_h <= limits.clock_h);
            let cost = cost(&before[b], &after[*a], line, limits).filter(|_| close)?;
            Some((*a, cost))
        };
        let best = left_after
            .iter()
            .filter_map(fits)
            .min_by(|x, y| x.1.total_cmp(&y.1));
        if let Some((a, cost)) = best {
            left_after.retain(|entry| *entry != a);
            pairing.pairs.push((b, a));
            pairing.cost += cost - 2.0 * ALONE;
        }
    }
}
