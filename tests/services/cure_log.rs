//! An invented cure log, as a neutral CSV file and as columns, and the stream that files it.

use std::fmt::Write as _;

use bytes::Bytes;
use obvert_proto::{
    dates::{from_unix_ms, instant},
    installation::v1::{
        CureColumns, CureHeader, CureLogHeader, ImportCureLogRequest, ImportCureLogResponse,
        import_cure_log_request::Part,
    },
};
use tonic::{Response, Status};

use super::{
    pipe::{Installations, LIT_MS},
    store::{self, PROJECT, named},
};

/// Seconds between rows.
const ROW_S: i64 = 2;
/// Travel that takes all nine lamps past both walls of the first segment.
pub(crate) const TRAVEL_M: f64 = 91.48;

pub(crate) const HEADER: &str = "\
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
";
pub(crate) const NAMES: &str = "row,t_utc,elapsed_s,position_m,speed_m_per_min,lamps_on,lamp_mask,\
pressure_bar_g,t_ir1_c,t_ir2_c,t_ir3_c,t_air_c,event,note\n";

/// A log of one metre a minute with all lamps lit, at 29 kPa: the least that the band allows.
pub(crate) fn csv(travel_m: f64) -> String {
    let mut text = format!("{HEADER}{NAMES}");
    for (row, (time_ms, position_m, lit)) in rows(travel_m).into_iter().enumerate() {
        let time = instant(&from_unix_ms(time_ms)).unwrap();
        let (count, mask) = if lit { (9, "0x1ff") } else { (0, "0x000") };
        let note = if row == 1 {
            "\"nine lamps, \"\"steady\"\",\nno smoke\""
        } else {
            ""
        };
        let _ = writeln!(
            text,
            "{},{time},,{position_m:.3},1.00,{count},{mask},0.29,101.5,102.5,99.5,40.25,,{note}",
            row + 1
        );
    }
    text
}

/// The same samples as columns.
pub(crate) fn columns(travel_m: f64) -> CureColumns {
    let rows = rows(travel_m);
    let all = |value: f64| vec![value; rows.len()];
    CureColumns {
        time_ms: rows.iter().map(|row| row.0).collect(),
        position_m: rows.iter().map(|row| row.1).collect(),
        speed_m_per_min: all(1.0),
        lamp_mask: rows
            .iter()
            .map(|row| if row.2 { 0x1ff } else { 0 })
            .collect(),
        pressure_kpa: all(29.0),
        infrared_1_celsius: all(101.5),
        infrared_2_celsius: all(102.5),
        infrared_3_celsius: all(99.5),
        air_celsius: all(40.25),
    }
}

/// Header of the same log, for columns.
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

/// Time, position and whether the lamps burn; positions to the millimetre.
fn rows(travel_m: f64) -> Vec<(i64, f64, bool)> {
    let count = (travel_m * 60.0 / ROW_S as f64).ceil() as i64;
    let position = |row: i64| ((row * ROW_S) as f64 / 60.0).min(travel_m);
    let rounded = |metres: f64| (metres * 1000.0).round() / 1000.0;
    let row = |row: i64| {
        (
            LIT_MS + row * ROW_S * 1000,
            rounded(position(row)),
            row < count,
        )
    };
    (0..=count + 5).map(row).collect()
}

/// Files a CSV in parts of some bytes.
pub(crate) async fn file(
    client: &mut Installations,
    id: &str,
    text: &str,
    part_bytes: usize,
) -> Result<ImportCureLogResponse, Status> {
    let parts = text
        .as_bytes()
        .chunks(part_bytes)
        .map(Bytes::copy_from_slice);
    let sent = std::iter::once(Part::Header(head(id, None))).chain(parts.map(Part::Data));
    send(client, sent.collect()).await
}

pub(crate) fn head(id: &str, header: Option<CureHeader>) -> CureLogHeader {
    CureLogHeader {
        write: store::write(),
        project: PROJECT.into(),
        record_id: id.into(),
        run: named("runs", "r-1"),
        file_name: "log.csv".into(),
        header,
        log_reader: String::new(),
    }
}

pub(crate) async fn send(
    client: &mut Installations,
    parts: Vec<Part>,
) -> Result<ImportCureLogResponse, Status> {
    let requests = parts
        .into_iter()
        .map(|part| ImportCureLogRequest { part: Some(part) });
    let requests = tokio_stream::iter(requests.collect::<Vec<_>>());
    client
        .import_cure_log(requests)
        .await
        .map(Response::into_inner)
}
