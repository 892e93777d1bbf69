//! Takes the samples of a stream while it runs: read, hashed and sealed on a thread of their own.

use bytes::Bytes;
use obvert_proto::{
    Problem,
    common::v1::Reason,
    installation::v1::{CureColumns, CureHeader},
};
use sha2::{Digest, Sha256};
use tokio::sync::mpsc::Receiver;

use super::{columns::ColumnReader, neutral::NeutralReader, samples::Samples, seal::Sealer};

/// How much one cure log may hold.
#[derive(Debug, Clone, Copy)]
pub struct CureLimits {
    /// Most rows.
    pub rows: usize,
    /// Largest native file.
    pub file_bytes: u64,
}

impl Default for CureLimits {
    fn default() -> Self {
        Self {
            rows: 2_000_000,
            file_bytes: 512 << 20,
        }
    }
}

/// A part of the stream after its header.
pub(super) enum Part {
    /// Header of a log that a plug-in reads; its samples follow.
    Header(CureHeader),
    /// Bytes of the neutral cure log CSV.
    Data(Bytes),
    /// Samples.
    Columns(CureColumns),
}

/// What a whole stream held.
pub(super) struct Taken {
    pub(super) header: CureHeader,
    pub(super) samples: Samples,
    pub(super) series: Bytes,
    pub(super) sha256: [u8; 32],
    pub(super) size_bytes: u64,
    /// Plug-in that read the native file, and its version; empty without one.
    pub(super) log_reader: [String; 2],
}

/// Takes all parts; runs on a thread that may block.
///
/// # Errors
///
/// `UPLOAD_INCOMPLETE` when nothing came or both forms did, `TOO_LARGE` past a limit,
/// `TABLE_INVALID` with every bad cell of a file, `FIELDS_INVALID` for columns of unlike length.
pub(super) fn take(
    mut parts: Receiver<Part>,
    file: &str,
    header: Option<CureHeader>,
    limits: CureLimits,
) -> Result<Taken, Problem> {
    match parts.blocking_recv() {
        None => Err(incomplete(
            "no samples came after the header: send bytes or columns",
        )),
        Some(Part::Data(_)) if header.is_some() => Err(incomplete(
            "a header came with a CSV file, which carries its own: leave it out",
        )),
        Some(Part::Data(first)) => take_file(first, parts, file, limits),
        Some(Part::Columns(first)) => {
            take_columns(first, parts, header.unwrap_or_default(), limits)
        }
        Some(Part::Header(header)) => match parts.blocking_recv() {
            Some(Part::Columns(first)) => take_columns(first, parts, header, limits),
            _ => Err(incomplete("the log reader found no samples in the file")),
        },
    }
}

fn take_file(
    first: Bytes,
    mut parts: Receiver<Part>,
    file: &str,
    limits: CureLimits,
) -> Result<Taken, Problem> {
    let (mut reader, mut hash) = (NeutralReader::new(file), Sha256::new());
    let mut size_bytes = 0;
    let mut next = Some(first);
    while let Some(data) = next {
        size_bytes += data.len() as u64;
        check_size(size_bytes, limits)?;
        hash.update(&data);
        reader.take(&data);
        check_rows(reader.samples.rows(), limits.rows)?;
        next = match parts.blocking_recv() {
            None => None,
            Some(Part::Data(data)) => Some(data),
            Some(Part::Columns(_) | Part::Header(_)) => return Err(mixed()),
        };
    }
    let (header, samples) = reader.finish()?;
    check_rows(samples.rows(), limits.rows)?;
    let mut sealer = Sealer::default();
    sealer.seal(&samples, true);
    let sha256 = hash.finalize().into();
    Ok(Taken {
        header,
        samples,
        series: sealer.finish(),
        sha256,
        size_bytes,
        log_reader: Default::default(),
    })
}

fn take_columns(
    first: CureColumns,
    mut parts: Receiver<Part>,
    header: CureHeader,
    limits: CureLimits,
) -> Result<Taken, Problem> {
    let (mut reader, mut sealer) = (ColumnReader::new(), Sealer::default());
    let mut next = Some(first);
    while let Some(columns) = next {
        check_rows(reader.samples.rows() + columns.time_ms.len(), limits.rows)?;
        reader.take(columns)?;
        sealer.seal(&reader.samples, false);
        next = match parts.blocking_recv() {
            None => None,
            Some(Part::Columns(columns)) => Some(columns),
            Some(Part::Data(_) | Part::Header(_)) => return Err(mixed()),
        };
    }
    sealer.seal(&reader.samples, true);
    let sha256 = reader.digest();
    let samples = reader.samples;
    Ok(Taken {
        header,
        samples,
        series: sealer.finish(),
        sha256,
        size_bytes: 0,
        log_reader: Default::default(),
    })
}

/// Refuses a native file that is too large.
pub(super) fn check_size(size_bytes: u64, limits: CureLimits) -> Result<(), Problem> {
    let most = limits.file_bytes;
    if size_bytes <= most {
        return Ok(());
    }
    let message = format!("the file is larger than {most} bytes: split it");
    Err(Problem::new(Reason::TooLarge, message))
}

fn check_rows(rows: usize, row_limit: usize) -> Result<(), Problem> {
    if rows <= row_limit {
        return Ok(());
    }
    let message = format!("the log has more than {row_limit} rows: split it by run, or thin it");
    Err(Problem::new(Reason::TooLarge, message).fact("row_limit", row_limit))
}

fn mixed() -> Problem {
    incomplete("bytes and columns came in one call: send one of the two")
}

fn incomplete(message: &str) -> Problem {
    Problem::new(Reason::UploadIncomplete, message)
}
