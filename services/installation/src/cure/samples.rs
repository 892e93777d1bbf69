//! Samples of a log, a column per channel, in the units of the wire.

use obvert_engineering::cure_log::{Channels, Event, TIME_ABSENT_MS};

/// Infrared sensors that a log can have.
pub(super) const SENSORS: usize = 3;

/// Samples by channel. A channel that was not recorded is empty; a reading that is missing is NaN,
/// or the absent mark of its kind.
#[derive(Debug, Default)]
pub(super) struct Samples {
    pub(super) time_ms: Vec<i64>,
    pub(super) position_m: Vec<f64>,
    pub(super) speed_m_per_min: Vec<f64>,
    pub(super) lamps_on: Vec<f64>,
    pub(super) lamp_mask: Vec<u32>,
    pub(super) pressure_kpa: Vec<f64>,
    pub(super) pressure_2_kpa: Vec<f64>,
    pub(super) infrared_celsius: [Vec<f64>; SENSORS],
    pub(super) air_celsius: Vec<f64>,
    pub(super) event: Vec<Event>,
}

impl Samples {
    pub(super) fn rows(&self) -> usize {
        self.time_ms.len()
    }

    /// First and last time that was recorded.
    pub(super) fn time_range_ms(&self) -> Option<(i64, i64)> {
        let times = || {
            self.time_ms
                .iter()
                .copied()
                .filter(|time| *time != TIME_ABSENT_MS)
        };
        times().min().zip(times().max())
    }

    /// First and last time at which a lamp burned.
    pub(super) fn lit_range_ms(&self) -> Option<(i64, i64)> {
        let lit = |row: &usize| match self.lamp_mask.get(*row) {
            Some(&mask) if mask != u32::MAX => mask != 0,
            _ => self.lamps_on.get(*row).is_some_and(|count| *count > 0.0),
        };
        let known = |row: &usize| self.time_ms[*row] != TIME_ABSENT_MS && lit(row);
        let first = (0..self.rows()).find(known)?;
        let last = (0..self.rows()).rev().find(known)?;
        let (a, b) = (self.time_ms[first], self.time_ms[last]);
        Some((a.min(b), a.max(b)))
    }

    /// The form in which figures are drawn. Pressures are turned from kPa to bar.
    pub(super) fn into_channels(self) -> Channels {
        let start = self
            .time_ms
            .iter()
            .copied()
            .find(|time| *time != TIME_ABSENT_MS);
        let start = start.unwrap_or_default();
        let elapsed = |time: &i64| match *time {
            TIME_ABSENT_MS => f64::NAN,
            time => time.saturating_sub(start) as f64 / 1000.0,
        };
        let bar = |mut column: Vec<f64>| {
            column.iter_mut().for_each(|kpa| *kpa /= 100.0);
            column
        };
        let sensors = self
            .infrared_celsius
            .iter()
            .rposition(|column| !column.is_empty());
        let sensors = sensors.map_or(0, |last| last + 1);
        let rows = self.time_ms.len();
        let absent = |column: Vec<f64>| match column.is_empty() {
            true => vec![f64::NAN; rows],
            false => column,
        };
        Channels {
            elapsed_s: self.time_ms.iter().map(elapsed).collect(),
            t_unix_ms: Vec::new(),
            position_m: self.position_m,
            speed_m_per_min: self.speed_m_per_min,
            lamps_on: self.lamps_on,
            lamp_mask: self.lamp_mask,
            pressure_bar_g: bar(self.pressure_kpa),
            pressure2_bar_g: bar(self.pressure_2_kpa),
            infrared_c: self
                .infrared_celsius
                .into_iter()
                .take(sensors)
                .map(absent)
                .collect(),
            air_c: self.air_celsius,
            event: self.event,
        }
    }
}
