//! The rows in time order with what every figure needs of them.

use std::borrow::Cow;

use super::order::in_time_order;
use super::{Channels, LAMP_MASK_ABSENT, RowCounts, Setup};

/// Number of lamps lit that is not known.
pub(super) const LIT_UNKNOWN: u8 = u8::MAX;

/// Rows in time order, placed along the run.
pub(crate) struct Rows<'a> {
    pub(crate) channels: Cow<'a, Channels>,
    pub(crate) counts: RowCounts,
    /// Station of the train's reference point, m.
    pub(crate) station_m: Vec<f64>,
    /// Lamps lit, or [`LIT_UNKNOWN`].
    pub(crate) lit: Vec<u8>,
    /// First and last row with a lamp lit.
    pub(crate) lit_rows: Option<(usize, usize)>,
    /// Plus one when the train travels toward growing stations, else minus one.
    pub(crate) travel_sign: f64,
}

impl<'a> Rows<'a> {
    /// Places the rows; the columns must be of one length.
    pub(crate) fn new(channels: &'a Channels, setup: &Setup) -> Self {
        let (channels, counts) = in_time_order(channels);
        let sign = setup.placement.direction.sign();
        let zero = setup.placement.station_at_zero_m;
        let station_m: Vec<f64> = channels
            .position_m
            .iter()
            .map(|x| zero + sign * x)
            .collect();
        let lit = lit_counts(&channels, setup.train.lamp_offsets_m.len());
        let is_lit = |&count: &u8| count != 0 && count != LIT_UNKNOWN;
        let lit_rows = lit
            .iter()
            .position(is_lit)
            .zip(lit.iter().rposition(is_lit));
        let travel_sign = match lit_rows {
            Some((first, last)) if station_m[last] < station_m[first] => -1.0,
            _ => 1.0,
        };
        Self {
            channels,
            counts,
            station_m,
            lit,
            lit_rows,
            travel_sign,
        }
    }

    pub(crate) fn len(&self) -> usize {
        self.station_m.len()
    }

    pub(crate) fn time_s(&self, row: usize) -> f64 {
        self.channels.elapsed_s[row]
    }

    /// What must be added to the reference station for a part with this offset, m.
    pub(crate) fn shift_m(&self, offset_m: f64) -> f64 {
        -self.travel_sign * offset_m
    }

    /// Distance travelled from the station of row 0, m; falls when the train goes back.
    pub(crate) fn progress_m(&self, row: usize) -> f64 {
        self.travel_sign * self.station_m[row]
    }

    /// Lamp states of a row as bits; none when only a count, or nothing, is known.
    pub(crate) fn mask(&self, row: usize) -> Option<u32> {
        match self.channels.lamp_mask.get(row) {
            None | Some(&LAMP_MASK_ABSENT) => None,
            Some(&mask) => Some(mask),
        }
    }
}

/// Lamps lit per row, by the mask where it is known, else by the count.
fn lit_counts(channels: &Channels, lamps: usize) -> Vec<u8> {
    let known = lamp_bits(lamps);
    let counted = |row: usize| match channels.lamps_on.get(row) {
        Some(count) if count.is_finite() && *count >= 0.0 => count.round().min(31.0) as u8,
        _ => LIT_UNKNOWN,
    };
    if channels.lamp_mask.is_empty() {
        return (0..channels.rows()).map(counted).collect();
    }
    let of_mask = |(row, &mask): (usize, &u32)| match mask {
        LAMP_MASK_ABSENT => counted(row),
        mask => (mask & known).count_ones() as u8,
    };
    channels.lamp_mask.iter().enumerate().map(of_mask).collect()
}

/// Bits of a train with that many lamps.
pub(super) fn lamp_bits(lamps: usize) -> u32 {
    if lamps >= 31 {
        u32::MAX >> 1
    } else {
        (1 << lamps) - 1
    }
}

/// Value of a row in a column that may be empty; NaN when absent.
pub(super) fn value(column: &[f64], row: usize) -> f64 {
    column
        .get(row)
        .copied()
        .filter(|value| value.is_finite())
        .unwrap_or(f64::NAN)
}
