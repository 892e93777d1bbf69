//! The rows of a CSV file, numbered as a spreadsheet numbers them.

use std::io::Read;

use csv::{ByteRecord, ReaderBuilder, StringRecord};

use crate::{
    cell,
    column_map::{ColumnMap, Unmapped},
    did_you_mean,
    problems::Problems,
};

/// Largest CSV file that is read.
pub const MAX_BYTES: usize = 64 * 1024 * 1024;
/// Most rows of a CSV file that are read, the header not counted.
pub const MAX_ROWS: usize = 100_000;

/// Byte order mark that spreadsheets put before UTF-8.
const MARK: &[u8] = b"\xef\xbb\xbf";
/// A last row put after the file: a quote that was never closed swallows it.
const END: &[u8] = b"\n\x01";

/// A CSV file taken apart.
pub(crate) struct Sheet {
    /// Cell of each column name in a row.
    places: Vec<(String, usize)>,
    /// Rows below the header that are not blank, with their numbers.
    pub(crate) rows: Vec<(usize, StringRecord)>,
}

impl Sheet {
    /// Where a column that the map names stands in a row.
    pub(crate) fn place(&self, column: &str) -> Option<usize> {
        self.places
            .iter()
            .find(|(name, _)| name == column)
            .map(|(_, place)| *place)
    }
}

/// Takes a file apart and checks its header and the shape of its rows; `None` when its header does
/// not serve the map, since no cell can be told then.
pub(crate) fn open(csv: &[u8], map: &ColumnMap, problems: &mut Problems<'_>) -> Option<Sheet> {
    if csv.len() > MAX_BYTES {
        let bytes = csv.len();
        problems.file(format!(
            "has {bytes} bytes, {MAX_BYTES} bytes (64 MiB) are read: split it"
        ));
        return None;
    }
    let csv = csv.strip_prefix(MARK).unwrap_or(csv);
    let (number, header, records) = split(csv, map.layout.delimiter.byte(), problems)?;
    let Ok(header) = StringRecord::from_byte_record(header) else {
        problems.row(number, NOT_UTF_8);
        return None;
    };
    let places = header_places(number, &header, map, problems)?;
    let mut rows = Vec::with_capacity(records.len());
    for (number, record) in records {
        match StringRecord::from_byte_record(record) {
            Err(_) => problems.row(number, NOT_UTF_8),
            Ok(record) if record.iter().all(|cell| cell.trim().is_empty()) => {}
            Ok(record) if record.len() != header.len() => {
                let (cells, columns) = (record.len(), header.len());
                problems.row(number, format!(
                    "has {cells} cells, the header has {columns}: add or remove separators, and \
                     put text that holds one in quotes"
                ));
            }
            Ok(record) => rows.push((number, record)),
        }
    }
    Some(Sheet { places, rows })
}

const NOT_UTF_8: &str = "is not UTF-8: save the table as \"CSV UTF-8\"";

type Records = (usize, ByteRecord, Vec<(usize, ByteRecord)>);

/// Header and rows by their numbers.
fn split(csv: &[u8], delimiter: u8, problems: &mut Problems<'_>) -> Option<Records> {
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(csv.chain(END));
    let (mut number, mut records) = (0, Vec::new());
    let mut record = ByteRecord::new();
    while let Ok(true) = reader.read_byte_record(&mut record) {
        let start = record.position().map_or(0, csv::Position::byte);
        number += 1 + blank_rows(csv, usize::try_from(start).unwrap_or(usize::MAX));
        if records.len() == MAX_ROWS + 2 {
            problems.file(format!(
                "has more than {MAX_ROWS} rows, {MAX_ROWS} are read: split it"
            ));
            return None;
        }
        records.push((number, record.clone()));
    }
    let last = records.pop().map(|(_, last)| last);
    if last.is_none_or(|last| last.len() != 1 || last.get(0) != END.get(1..)) {
        problems.row(
            number,
            "opens a quote that is never closed: close it, or double a quote meant as text",
        );
        return None;
    }
    if records.len() < 2 {
        problems.file("has no row below its header: nothing is there to read");
        return None;
    }
    let rows = records.split_off(1);
    records.pop().map(|(number, header)| (number, header, rows))
}

/// Empty rows that the reader skips before the record that it reads from a byte on.
fn blank_rows(csv: &[u8], start: usize) -> usize {
    let rest = csv.get(start..).unwrap_or_default();
    let after_return = start > 0 && csv.get(start - 1) == Some(&b'\r');
    let rest = rest
        .strip_prefix(b"\n")
        .filter(|_| after_return)
        .unwrap_or(rest);
    let ends = rest.iter().take_while(|byte| matches!(byte, b'\r' | b'\n'));
    let (mut rows, mut before) = (0, b' ');
    for end in ends {
        rows += usize::from(!(before == b'\r' && *end == b'\n'));
        before = *end;
    }
    rows
}

/// Place of each named column, once the header serves the map.
fn header_places(
    number: usize,
    header: &StringRecord,
    map: &ColumnMap,
    problems: &mut Problems<'_>,
) -> Option<Vec<(String, usize)>> {
    let named = map.layout.column_names();
    let mut places: Vec<(String, usize)> = Vec::new();
    let mut sound = true;
    for (place, name) in header.iter().map(cell::clean).enumerate() {
        let wrong = if let Some((_, first)) = places.iter().find(|(known, _)| known == name) {
            let (first, second) = (first + 1, place + 1);
            Some(format!(
                "stands in columns {first} and {second} of the header: rename one"
            ))
        } else if !named.contains(&name) && map.layout.unmapped_columns == Unmapped::Refuse {
            let near = did_you_mean(name, named.iter().copied());
            Some(format!(
                "is not in the column map: map it, or set unmapped_columns = \"ignore\"{near}"
            ))
        } else {
            None
        };
        if let Some(message) = wrong {
            problems.cell(number, name, message);
            sound = false;
        } else if !name.is_empty() {
            places.push((name.to_owned(), place));
        }
    }
    for name in named {
        if !places.iter().any(|(known, _)| known == name) {
            let near = did_you_mean(name, header.iter().map(cell::clean));
            let delimiter = if header.len() == 1 {
                "; the header is one cell: check delimiter in the column map"
            } else {
                ""
            };
            problems.cell(number, name, format!(
                "is missing, but the column map names it: add it, or mend the map{near}{delimiter}"
            ));
            sound = false;
        }
    }
    sound.then_some(places)
}
