//! Samples as a sealed series, and back.
//!
//! A blob is a row of chunks of [`CHUNK_ROWS`] samples, joined by [`series::join`]. A chunk has a
//! column for each channel that was recorded in it, named as on the wire; `time_ms`, `lamp_mask`
//! and `event` are whole numbers, the others decimals kept to a millionth of their unit.

use bytes::Bytes;
use obvert_engineering::cure_log::{LAMP_MASK_ABSENT, TIME_ABSENT_MS};
use obvert_ledger::series::{self, Column, SeriesError};
use obvert_proto::installation::v1::CureColumns;

use super::samples::Samples;

/// Samples of a chunk: one answer of a read, well below the usual 4 MiB of a message.
pub(super) const CHUNK_ROWS: usize = 32_768;
/// Most decimals that are kept.
const MOST_DECIMALS: i32 = 6;
/// Numbers from here on have no decimals to keep.
const LARGEST: f64 = 1e12;

/// Seals samples while more arrive.
#[derive(Default)]
pub(super) struct Sealer {
    rows: usize,
    columns: Vec<Column>,
    chunks: Vec<Bytes>,
}

impl Sealer {
    /// Seals every full chunk, and with `all` the rest too.
    pub(super) fn seal(&mut self, samples: &Samples, all: bool) {
        loop {
            let rows = (samples.rows() - self.rows).min(CHUNK_ROWS);
            if rows == 0 || (rows < CHUNK_ROWS && !all) {
                return;
            }
            self.fill(samples, self.rows, self.rows + rows);
            self.chunks.push(series::encode(&self.columns));
            self.rows += rows;
        }
    }

    /// The series as one blob.
    pub(super) fn finish(&self) -> Bytes {
        series::join(&self.chunks)
    }

    fn fill(&mut self, samples: &Samples, from: usize, to: usize) {
        let mut kept = std::mem::take(&mut self.columns).into_iter();
        let mut put = |name: &str, fill: &mut dyn FnMut(&mut Vec<Option<i64>>) -> i32| {
            let mut values = kept.next().map_or_else(Vec::new, |column| column.values);
            values.clear();
            let scale = fill(&mut values);
            self.columns.push(Column {
                name: name.to_owned(),
                scale,
                values,
            });
        };
        let time = &samples.time_ms[from..to];
        put("time_ms", &mut |values| {
            values.extend(
                time.iter()
                    .map(|time| (*time != TIME_ABSENT_MS).then_some(*time)),
            );
            0
        });
        if let Some(masks) = samples.lamp_mask.get(from..to) {
            put("lamp_mask", &mut |values| {
                let known = |mask: &u32| (*mask != LAMP_MASK_ABSENT).then_some(i64::from(*mask));
                values.extend(masks.iter().map(known));
                0
            });
        }
        let [infrared_1, infrared_2, infrared_3] = &samples.infrared_celsius;
        let numbers = [
            ("position_m", &samples.position_m),
            ("speed_m_per_min", &samples.speed_m_per_min),
            ("lamps_on_count", &samples.lamps_on),
            ("pressure_kpa", &samples.pressure_kpa),
            ("pressure_2_kpa", &samples.pressure_2_kpa),
            ("infrared_1_celsius", infrared_1),
            ("infrared_2_celsius", infrared_2),
            ("infrared_3_celsius", infrared_3),
            ("air_celsius", &samples.air_celsius),
        ];
        for (name, column) in numbers {
            if let Some(column) = column.get(from..to) {
                put(name, &mut |values| whole(column, values));
            }
        }
        if let Some(events) = samples.event.get(from..to) {
            put("event", &mut |values| {
                values.extend(events.iter().map(|event| Some(i64::from(*event as u8))));
                0
            });
        }
    }
}

/// Samples of one chunk, as the wire has them.
///
/// # Errors
///
/// The chunk is not one that a sealer made.
pub(super) fn unsealed(chunk: &[u8]) -> Result<CureColumns, SeriesError> {
    let mut columns = CureColumns::default();
    for Column {
        name,
        scale,
        values,
    } in series::decode(chunk)?
    {
        let parts = 10_f64.powi(-scale);
        let number = |value: &Option<i64>| value.map_or(f64::NAN, |value| value as f64 / parts);
        let numbers = || values.iter().map(number).collect::<Vec<_>>();
        match name.as_str() {
            "time_ms" => {
                columns.time_ms = values.iter().map(|v| v.unwrap_or(TIME_ABSENT_MS)).collect()
            }
            "lamp_mask" => {
                let mask = |value: &Option<i64>| value.and_then(|v| i32::try_from(v).ok());
                columns.lamp_mask = values.iter().map(|v| mask(v).unwrap_or(-1)).collect();
            }
            "position_m" => columns.position_m = numbers(),
            "speed_m_per_min" => columns.speed_m_per_min = numbers(),
            "pressure_kpa" => columns.pressure_kpa = numbers(),
            "infrared_1_celsius" => columns.infrared_1_celsius = numbers(),
            "infrared_2_celsius" => columns.infrared_2_celsius = numbers(),
            "infrared_3_celsius" => columns.infrared_3_celsius = numbers(),
            "air_celsius" => columns.air_celsius = numbers(),
            // Second gauge, lamp count and events have no column on the wire.
            _ => {}
        }
    }
    Ok(columns)
}

/// Fills in a column as whole numbers of the coarsest decimal place that keeps it, and returns the
/// scale.
fn whole(column: &[f64], values: &mut Vec<Option<i64>>) -> i32 {
    for decimals in 0..=MOST_DECIMALS {
        values.clear();
        let parts = 10_f64.powi(decimals);
        let near = parts * 5e-7;
        let mut kept = true;
        for &value in column {
            let scaled = value * parts;
            if value.is_nan() || value.abs() >= LARGEST {
                values.push(None);
                continue;
            }
            let rounded = (scaled + 0.5_f64.copysign(scaled)) as i64;
            if decimals < MOST_DECIMALS && (scaled - rounded as f64).abs() > near {
                kept = false;
                break;
            }
            values.push(Some(rounded));
        }
        if kept {
            return -decimals;
        }
    }
    -MOST_DECIMALS
}
