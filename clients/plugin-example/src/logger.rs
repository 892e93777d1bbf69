//! A reader of one logger's own files: an invented form with `;` and a decimal comma.
//!
//! The first line is `quillfern;RUN;LINER SERIAL;LAMPS`, every other
//! `milliseconds since 1970;position in m;pressure in bar above the air outside;wall in degrees C`.

use obvert_proto::{
    installation::v1::{CureColumns, CureHeader},
    plugin::v1::{
        DescribeRequest, DescribeResponse, ReadLogRequest, ReadLogResponse,
        log_reader_service_server::LogReaderService, read_log_request, read_log_response::Part,
    },
};
use tokio_stream::{Iter, iter};
use tonic::{Request, Response, Status, Streaming};

use crate::described;

/// Kilopascals of a bar.
const KPA_PER_BAR: f64 = 100.0;
/// Largest file taken.
const FILE_BYTES: usize = 64 << 20;
/// Samples of one answer.
const ROWS: usize = 4_096;

/// The reader. It keeps nothing between two files.
#[derive(Debug, Clone, Copy)]
pub struct SemicolonLogger;

#[tonic::async_trait]
impl LogReaderService for SemicolonLogger {
    type ReadLogStream = Iter<std::vec::IntoIter<Result<ReadLogResponse, Status>>>;

    async fn describe(
        &self,
        _: Request<DescribeRequest>,
    ) -> Result<Response<DescribeResponse>, Status> {
        Ok(Response::new(described::plain()))
    }

    async fn read_log(
        &self,
        request: Request<Streaming<ReadLogRequest>>,
    ) -> Result<Response<Self::ReadLogStream>, Status> {
        let mut parts = request.into_inner();
        let mut file = Vec::new();
        while let Some(request) = parts.message().await? {
            if let Some(read_log_request::Part::Data(data)) = request.part {
                file.extend_from_slice(&data);
            }
            if file.len() > FILE_BYTES {
                return Err(Status::invalid_argument("the file is larger than 64 MiB"));
            }
        }
        let parts = read(&file).map_err(Status::invalid_argument)?;
        let answers = parts
            .into_iter()
            .map(|part| Ok(ReadLogResponse { part: Some(part) }));
        Ok(Response::new(iter(answers.collect::<Vec<_>>())))
    }
}

/// Header and samples of a file, or where it is wrong.
fn read(file: &[u8]) -> Result<Vec<Part>, String> {
    let text = std::str::from_utf8(file).map_err(|_| "the file is no UTF-8 text".to_owned())?;
    let mut lines = text.lines().zip(1..);
    let first = lines.next().map_or("", |(line, _)| line);
    let ["quillfern", run, serial, lamps] = first.split(';').collect::<Vec<_>>()[..] else {
        return Err("line 1 is not quillfern;RUN;LINER SERIAL;LAMPS".to_owned());
    };
    let lamp_count: i32 = lamps
        .parse()
        .map_err(|_| "line 1: LAMPS is no number".to_owned())?;
    let header = CureHeader {
        run_id: run.to_owned(),
        liner_serial: serial.to_owned(),
        travel_with_flow: true,
        lamp_count,
        ..CureHeader::default()
    };
    let rows = lines.map(|(line, number)| row(line).ok_or(format!("line {number}: {line}")));
    let rows = rows.collect::<Result<Vec<_>, _>>()?;
    if rows.is_empty() {
        return Err("the file has no samples".to_owned());
    }
    let columns = rows.chunks(ROWS).map(|rows| Part::Columns(columns(rows)));
    Ok(std::iter::once(Part::Header(header))
        .chain(columns)
        .collect())
}

/// Time in ms, position in m, pressure in kPa, wall in degrees C.
type Row = (i64, f64, f64, f64);

fn row(line: &str) -> Option<Row> {
    let [time, position, pressure, wall] = line.split(';').collect::<Vec<_>>()[..] else {
        return None;
    };
    let number = |text: &str| {
        text.replace(',', ".")
            .parse::<f64>()
            .ok()
            .filter(|n| n.is_finite())
    };
    let pressure_kpa = number(pressure)? * KPA_PER_BAR;
    Some((
        time.parse().ok()?,
        number(position)?,
        pressure_kpa,
        number(wall)?,
    ))
}

fn columns(rows: &[Row]) -> CureColumns {
    CureColumns {
        time_ms: rows.iter().map(|row| row.0).collect(),
        position_m: rows.iter().map(|row| row.1).collect(),
        pressure_kpa: rows.iter().map(|row| row.2).collect(),
        infrared_1_celsius: rows.iter().map(|row| row.3).collect(),
        ..CureColumns::default()
    }
}
