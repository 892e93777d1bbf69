//! An invented cure log of ten samples a second, as columns and as the neutral CSV.

use std::fmt::Write as _;

use bytes::Bytes;
use obvert_proto::{
    dates::{from_unix_ms, instant},
    installation::v1::{CureColumns, CureHeader, import_cure_log_request::Part},
};

use crate::fixture::LIT_MS;

/// Samples of a log: 3.6 hours.
pub(crate) const SAMPLES: usize = 131_072;
/// Samples of a message.
pub(crate) const PER_MESSAGE: usize = 512;
/// Bytes of a message with a part of the CSV.
const PART_BYTES: usize = 256 << 10;

const CSV_HEADER: &str = "\
# version: 1
# segment_ids: Q-014
# manholes: MH-7;MH-8
# run_id: r-1
# liner_serial: FM-0041
# travel: with_flow
# datum: inside_wall_from_first_manhole
# datum_offset_m: 0
# lamp_count: 9
# lamp_power_w: 500
# lamp_offsets_m: 0.00;0.16;0.32;0.48;0.64;0.80;0.96;1.12;1.28
# infrared_offsets_m: -0.25;0.40;1.75
# clock_offset_s: 0
t_utc,position_m,speed_m_per_min,lamp_mask,pressure_bar_g,t_ir1_c,t_ir2_c,t_ir3_c,t_air_c
";

/// Readings of one moment, to the last digit that such a logger writes.
struct Sample {
    time_ms: i64,
    position_m: f64,
    speed_m_per_min: f64,
    pressure_bar: f64,
    infrared_celsius: [f64; 3],
    air_celsius: f64,
}

/// A train at one metre a minute, with the flutter that readings have. `log` tells logs apart.
fn sample(log: u64, row: usize) -> Sample {
    let minutes = row as f64 / 600.0;
    let flutter = |period: f64, size: f64| (row as f64 / period).sin() * size;
    let round = |value: f64, parts: f64| (value * parts).round() / parts;
    let air = if row == 0 {
        20.0 + log as f64 * 0.1
    } else {
        41.0 + flutter(900.0, 3.0)
    };
    Sample {
        time_ms: LIT_MS + row as i64 * 100,
        position_m: round(minutes + flutter(70.0, 0.004), 1e3),
        speed_m_per_min: round(1.0 + flutter(41.0, 0.03), 1e2),
        pressure_bar: round(0.42 + flutter(300.0, 0.02), 1e3),
        infrared_celsius: [0.0, 8.0, -4.0]
            .map(|more| round(96.0 + more + flutter(500.0, 9.0), 1e1)),
        air_celsius: round(air, 1e1),
    }
}

/// The log as messages with columns.
pub(crate) fn columns(log: u64) -> Vec<Part> {
    let message = |first: usize| {
        let mut columns = CureColumns::default();
        for row in first..first + PER_MESSAGE {
            let sample = sample(log, row);
            columns.time_ms.push(sample.time_ms);
            columns.position_m.push(sample.position_m);
            columns.speed_m_per_min.push(sample.speed_m_per_min);
            columns.lamp_mask.push(0x1ff);
            columns.pressure_kpa.push(sample.pressure_bar * 100.0);
            columns.infrared_1_celsius.push(sample.infrared_celsius[0]);
            columns.infrared_2_celsius.push(sample.infrared_celsius[1]);
            columns.infrared_3_celsius.push(sample.infrared_celsius[2]);
            columns.air_celsius.push(sample.air_celsius);
        }
        Part::Columns(columns)
    };
    (0..SAMPLES).step_by(PER_MESSAGE).map(message).collect()
}

/// The log as messages with bytes of its CSV.
pub(crate) fn csv(log: u64) -> Vec<Part> {
    let mut text = String::from(CSV_HEADER);
    for row in 0..SAMPLES {
        let sample = sample(log, row);
        let time = instant(&from_unix_ms(sample.time_ms)).expect("a time");
        let [first, second, third] = sample.infrared_celsius;
        let _ = writeln!(
            text,
            "{time},{:.3},{:.2},0x1ff,{:.3},{first:.1},{second:.1},{third:.1},{:.1}",
            sample.position_m, sample.speed_m_per_min, sample.pressure_bar, sample.air_celsius
        );
    }
    let text = Bytes::from(text);
    let part = |from: usize| text.slice(from..text.len().min(from + PART_BYTES));
    (0..text.len())
        .step_by(PART_BYTES)
        .map(|from| Part::Data(part(from)))
        .collect()
}

/// What the header of the CSV says, for columns.
pub(crate) fn header() -> CureHeader {
    CureHeader {
        segment_ids: vec!["Q-014".into()],
        manholes: vec!["MH-7".into(), "MH-8".into()],
        run_id: "r-1".into(),
        liner_serial: "FM-0041".into(),
        travel_with_flow: true,
        datum: "inside_wall_from_first_manhole".into(),
        lamp_count: 9,
        lamp_power_w: 500.0,
        lamp_offsets_m: (0..9).map(|lamp| f64::from(lamp) * 0.16).collect(),
        infrared_offsets_m: vec![-0.25, 0.40, 1.75],
        ..CureHeader::default()
    }
}
