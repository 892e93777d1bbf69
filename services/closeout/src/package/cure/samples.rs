//! The sealed series of a cure log, opened.

use std::fmt::Write;

use obvert_engineering::cure_log::{Channels, Event, LAMP_MASK_ABSENT};
use obvert_ledger::series::{self, Column, SeriesError};
use obvert_proto::{Problem, common::v1::Reason};

use crate::package::record_files::time;

/// Infrared sensors that a log can have.
const INFRARED: [&str; 3] = [
    "infrared_1_celsius",
    "infrared_2_celsius",
    "infrared_3_celsius",
];
/// Kilopascals in a bar.
const KPA_PER_BAR: f64 = 100.0;

/// Samples by channel, as whole numbers of a power of ten.
pub(super) struct Samples {
    columns: Vec<Column>,
    rows: usize,
}

impl Samples {
    /// Opens a series: chunks of columns, one after the other.
    pub(super) fn read(sealed: &[u8]) -> Result<Self, Problem> {
        let damaged = |error: SeriesError| Problem::new(Reason::StoreCorrupt, error.to_string());
        let mut columns: Vec<Column> = Vec::new();
        let mut rows = 0;
        for chunk in series::chunks(sealed).map_err(damaged)? {
            let chunk = series::decode(chunk).map_err(damaged)?;
            let added = chunk
                .iter()
                .map(|column| column.values.len())
                .max()
                .unwrap_or(0);
            for column in chunk {
                append(&mut columns, column, rows);
            }
            rows += added;
            columns
                .iter_mut()
                .for_each(|column| column.values.resize(rows, None));
        }
        Ok(Self { columns, rows })
    }

    fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// Values of a channel; one that is missing is no number, a channel not recorded is empty.
    fn numbers(&self, name: &str) -> Vec<f64> {
        let Some(column) = self.column(name) else {
            return Vec::new();
        };
        let parts = 10_f64.powi(-column.scale);
        column
            .values
            .iter()
            .map(|v| v.map_or(f64::NAN, |v| v as f64 / parts))
            .collect()
    }

    /// The form that figures and plots are drawn from.
    pub(super) fn channels(&self) -> Channels {
        let times = self
            .column("time_ms")
            .map_or(&[][..], |column| column.values.as_slice());
        let start = times.iter().flatten().next().copied().unwrap_or_default();
        let elapsed = |time: &Option<i64>| time.map_or(f64::NAN, |t| (t - start) as f64 / 1_000.0);
        let bar = |name| {
            self.numbers(name)
                .into_iter()
                .map(|kpa| kpa / KPA_PER_BAR)
                .collect()
        };
        let whole = |name| {
            self.column(name)
                .map_or(&[][..], |column| column.values.as_slice())
        };
        let mask = |value: &Option<i64>| {
            value
                .and_then(|mask| u32::try_from(mask).ok())
                .unwrap_or(LAMP_MASK_ABSENT)
        };
        let event = |value: &Option<i64>| {
            value
                .and_then(|code| Event::from_code(u8::try_from(code).ok()?))
                .unwrap_or_default()
        };
        let sensors = INFRARED
            .iter()
            .rposition(|name| self.column(name).is_some());
        let infrared = INFRARED.iter().take(sensors.map_or(0, |last| last + 1));
        let padded = |name: &&str| match self.numbers(name) {
            column if column.is_empty() => vec![f64::NAN; self.rows],
            column => column,
        };
        Channels {
            elapsed_s: times.iter().map(elapsed).collect(),
            t_unix_ms: Vec::new(),
            position_m: self.numbers("position_m"),
            speed_m_per_min: self.numbers("speed_m_per_min"),
            lamps_on: self.numbers("lamps_on_count"),
            lamp_mask: whole("lamp_mask").iter().map(mask).collect(),
            pressure_bar_g: bar("pressure_kpa"),
            pressure2_bar_g: bar("pressure_2_kpa"),
            infrared_c: infrared.map(padded).collect(),
            air_c: self.numbers("air_celsius"),
            event: whole("event").iter().map(event).collect(),
        }
    }

    /// Rows in order, units in the names of the columns; empty is not measured, never zero.
    pub(super) fn csv(&self) -> Vec<u8> {
        let mut out = String::with_capacity(self.rows * 80);
        let title = |column: &Column| match column.name.as_str() {
            "time_ms" => "time_utc".to_owned(),
            name => name.to_owned(),
        };
        out.push_str(&self.columns.iter().map(title).collect::<Vec<_>>().join(","));
        out.push('\n');
        for row in 0..self.rows {
            for (place, column) in self.columns.iter().enumerate() {
                if place > 0 {
                    out.push(',');
                }
                if let Some(value) = column.values[row] {
                    put(&mut out, column, value);
                }
            }
            out.push('\n');
        }
        out.into_bytes()
    }
}

/// Adds a chunk's column to the series, on the finer of the two scales.
fn append(columns: &mut Vec<Column>, mut added: Column, rows: usize) {
    let Some(column) = columns.iter_mut().find(|column| column.name == added.name) else {
        let before = std::iter::repeat_n(None, rows);
        added.values = before.chain(std::mem::take(&mut added.values)).collect();
        columns.push(added);
        return;
    };
    let finest = column.scale.min(added.scale);
    for side in [&mut *column, &mut added] {
        let factor = 10_i64.saturating_pow(side.scale.abs_diff(finest));
        side.values
            .iter_mut()
            .flatten()
            .for_each(|value| *value = value.saturating_mul(factor));
        side.scale = finest;
    }
    column.values.append(&mut added.values);
}

/// A value as exactly the decimal that was kept.
fn put(out: &mut String, column: &Column, value: i64) {
    let name = column.name.as_str();
    let _ = match name {
        "time_ms" => write!(out, "{}", time(value)),
        "lamp_mask" => write!(out, "0x{value:03x}"),
        "event" => {
            let event = u8::try_from(value)
                .ok()
                .and_then(Event::from_code)
                .unwrap_or_default();
            write!(out, "{}", event.word())
        }
        _ if column.scale >= 0 => {
            write!(
                out,
                "{}",
                value.saturating_mul(10_i64.saturating_pow(column.scale.unsigned_abs()))
            )
        }
        _ => {
            let decimals = column.scale.unsigned_abs() as usize;
            let parts = 10_u64.saturating_pow(column.scale.unsigned_abs());
            let (sign, value) = (if value < 0 { "-" } else { "" }, value.unsigned_abs());
            write!(out, "{sign}{}.{:0decimals$}", value / parts, value % parts)
        }
    };
}
