//! Cuts a CSV stream into records and a record into cells, quotes as in RFC 4180.
//!
//! Works on the bytes as they come: a record is looked at where it lies in its part, and only one
//! that runs over the end of a part is copied.

/// Longest record; a quote that is never closed ends here.
pub(super) const LONGEST_RECORD: usize = 64 << 10;

/// Where a cell's text lies in its record.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cell {
    pub(super) from: usize,
    pub(super) to: usize,
    /// Whether its quotes stand as they may.
    pub(super) sound: bool,
}

/// Cuts a stream into records.
#[derive(Debug, Default)]
pub(super) struct Splitter {
    carry: Vec<u8>,
    /// Line of the file on which the next record begins, less one.
    line: u64,
}

impl Splitter {
    /// Calls `on` with every record that the part completes, and the line it begins on.
    ///
    /// # Errors
    ///
    /// Line of a record that is longer than a record may be.
    pub(super) fn feed(&mut self, part: &[u8], mut on: impl FnMut(&[u8], u64)) -> Result<(), u64> {
        let mut carry = std::mem::take(&mut self.carry);
        let mut rest = if carry.is_empty() {
            part
        } else {
            carry.extend_from_slice(part);
            carry.as_slice()
        };
        while let Some(end) = record_end(rest) {
            self.record(&rest[..end], &mut on);
            rest = &rest[end + 1..];
        }
        if rest.len() > LONGEST_RECORD {
            return Err(self.line + 1);
        }
        self.carry = rest.to_vec();
        Ok(())
    }

    /// Calls `on` with a last record that no line end follows.
    pub(super) fn finish(&mut self, mut on: impl FnMut(&[u8], u64)) {
        let carry = std::mem::take(&mut self.carry);
        if !carry.is_empty() {
            self.record(&carry, &mut on);
        }
    }

    fn record(&mut self, record: &[u8], on: &mut impl FnMut(&[u8], u64)) {
        let first = self.line + 1;
        self.line = first + record.iter().filter(|byte| **byte == b'\n').count() as u64;
        let bare = record.strip_suffix(b"\r").unwrap_or(record);
        if !bare.is_empty() {
            on(bare, first);
        }
    }
}

/// Cells of a record.
pub(super) fn cells(record: &[u8], cells: &mut Vec<Cell>) {
    cells.clear();
    let mut at = 0;
    loop {
        let (cell, next) = match record.get(at) {
            Some(b'"') => quoted(record, at),
            _ => bare(record, at),
        };
        cells.push(cell);
        match next {
            Some(next) => at = next,
            None => return,
        }
    }
}

/// Line end of the first record. In a header line, quotes are text.
fn record_end(bytes: &[u8]) -> Option<usize> {
    if bytes.first() == Some(&b'#') {
        return bytes.iter().position(|byte| *byte == b'\n');
    }
    let mut inside = false;
    bytes.iter().position(|byte| {
        inside ^= *byte == b'"';
        *byte == b'\n' && !inside
    })
}

fn bare(record: &[u8], from: usize) -> (Cell, Option<usize>) {
    let length = record[from..].iter().position(|byte| *byte == b',');
    let to = length.map_or(record.len(), |length| from + length);
    let sound = !record[from..to].contains(&b'"');
    (
        Cell { from, to, sound },
        length.map(|length| from + length + 1),
    )
}

fn quoted(record: &[u8], open: usize) -> (Cell, Option<usize>) {
    let from = open + 1;
    let mut at = from;
    while let Some(length) = record[at..].iter().position(|byte| *byte == b'"') {
        let quote = at + length;
        match record.get(quote + 1) {
            Some(b'"') => at = quote + 2,
            Some(b',') => {
                return (
                    Cell {
                        from,
                        to: quote,
                        sound: true,
                    },
                    Some(quote + 2),
                );
            }
            None => {
                return (
                    Cell {
                        from,
                        to: quote,
                        sound: true,
                    },
                    None,
                );
            }
            // Text after the closing quote.
            Some(_) => {
                let (rest, next) = bare(record, quote + 1);
                return (
                    Cell {
                        from: open,
                        to: rest.to,
                        sound: false,
                    },
                    next,
                );
            }
        }
    }
    (
        Cell {
            from: open,
            to: record.len(),
            sound: false,
        },
        None,
    )
}
