//! Reads the neutral cure log CSV, part by part, and names every bad cell.

use obvert_proto::{Problem, Violation, common::v1::Reason, installation::v1::CureHeader};

use super::{
    cells::{self, Clock},
    header,
    samples::{SENSORS, Samples},
    split::{self, Cell, LONGEST_RECORD, Splitter},
};

/// Bad cells that are named; the rest is counted.
const NAMED: usize = 100;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Channel {
    Time,
    Position,
    Speed,
    LampsOn,
    LampMask,
    Pressure,
    Pressure2,
    Infrared(usize),
    Air,
    Event,
    /// Kept in the native file only.
    Kept,
}

/// Reads one file.
pub(super) struct NeutralReader {
    pub(super) header: CureHeader,
    pub(super) samples: Samples,
    splitter: Splitter,
    table: Table,
}

/// Everything beside the splitter, so that it can be called with a record that the splitter lends.
struct Table {
    file: String,
    columns: Vec<(String, Channel)>,
    clock: Clock,
    cells: Vec<Cell>,
    named: Vec<Violation>,
    bad_count: usize,
}

impl NeutralReader {
    pub(super) fn new(file: &str) -> Self {
        let table = Table {
            file: file.to_owned(),
            columns: Vec::new(),
            clock: Clock::default(),
            cells: Vec::new(),
            named: Vec::new(),
            bad_count: 0,
        };
        let (header, samples) = (CureHeader::default(), Samples::default());
        Self {
            header,
            samples,
            splitter: Splitter::default(),
            table,
        }
    }

    /// Takes the next bytes of the file.
    pub(super) fn take(&mut self, part: &[u8]) {
        let Self {
            header,
            samples,
            splitter,
            table,
        } = self;
        let fed = splitter.feed(part, |record, line| {
            table.record(header, samples, record, line)
        });
        if let Err(line) = fed {
            let message = format!(
                "is longer than {LONGEST_RECORD} bytes: look for a quote that is not closed"
            );
            table.bad(line, None, &message);
        }
    }

    /// Ends the file.
    ///
    /// # Errors
    ///
    /// `TABLE_INVALID` with row, column, value and what was expected of everything wrong.
    pub(super) fn finish(mut self) -> Result<(CureHeader, Samples), Problem> {
        let Self {
            header,
            samples,
            splitter,
            table,
        } = &mut self;
        splitter.finish(|record, line| table.record(header, samples, record, line));
        if table.columns.is_empty() {
            table.bad(
                1,
                None,
                "no row of column names was found: write it above the samples",
            );
        }
        if table.bad_count == 0 {
            return Ok((self.header, self.samples));
        }
        let Table {
            file,
            named,
            bad_count,
            ..
        } = self.table;
        let first = named
            .first()
            .map_or(String::new(), |v| format!("{}: {}", v.field, v.message));
        let message = format!(
            "{bad_count} places of {file} are wrong and nothing was filed; the first is {first}"
        );
        Err(Problem::new(Reason::TableInvalid, message)
            .fact("place_count", bad_count)
            .with_violations(named))
    }
}

impl Table {
    fn record(&mut self, header: &mut CureHeader, samples: &mut Samples, record: &[u8], line: u64) {
        let record = match line {
            1 => record.strip_prefix("\u{feff}".as_bytes()).unwrap_or(record),
            _ => record,
        };
        match record.strip_prefix(b"#") {
            Some(text) if self.columns.is_empty() => {
                if let Err((key, message)) = header::take(header, &String::from_utf8_lossy(text)) {
                    self.bad(line, Some(&key), &message);
                }
            }
            _ if self.columns.is_empty() => self.names(record, line),
            _ => self.row(samples, record, line),
        }
    }

    fn names(&mut self, record: &[u8], line: u64) {
        let mut found = std::mem::take(&mut self.cells);
        split::cells(record, &mut found);
        for cell in &found {
            let name = String::from_utf8_lossy(&record[cell.from..cell.to])
                .trim()
                .to_owned();
            let channel = Channel::of(&name);
            if channel.is_none() {
                let message = "is no column of the neutral cure log CSV: begin its name with \
                               x_ to keep it unread, or correct it";
                self.bad(line, Some(&name), message);
            } else if self.columns.iter().any(|(other, _)| *other == name) {
                self.bad(line, Some(&name), "stands twice: keep one of the two");
            }
            self.columns.push((name, channel.unwrap_or(Channel::Kept)));
        }
        for needed in ["t_utc", "position_m"] {
            if !self.columns.iter().any(|(name, _)| name == needed) {
                self.bad(line, Some(needed), "is missing: a cure log needs it");
            }
        }
        self.cells = found;
    }

    fn row(&mut self, samples: &mut Samples, record: &[u8], line: u64) {
        let mut found = std::mem::take(&mut self.cells);
        split::cells(record, &mut found);
        if found.len() != self.columns.len() {
            let (cells, columns) = (found.len(), self.columns.len());
            self.bad(
                line,
                None,
                &format!("has {cells} cells, the row of names has {columns}"),
            );
        } else {
            for (index, cell) in found.iter().enumerate() {
                let text = &record[cell.from..cell.to];
                let channel = self.columns[index].1;
                let taken = cell.sound && channel.push(samples, &mut self.clock, text);
                if !taken {
                    let shown = String::from_utf8_lossy(&text[..text.len().min(60)]).into_owned();
                    let wanted = if cell.sound {
                        channel.wanted()
                    } else {
                        "quotes as in RFC 4180"
                    };
                    let name = self.columns[index].0.clone();
                    self.bad(
                        line,
                        Some(&name),
                        &format!("is \"{shown}\": {wanted} wanted"),
                    );
                }
            }
        }
        self.cells = found;
    }

    fn bad(&mut self, line: u64, column: Option<&str>, message: &str) {
        self.bad_count += 1;
        if self.named.len() < NAMED {
            let column = column.map_or(String::new(), |name| format!(" column {name}"));
            let field = format!("{} row {line}{column}", self.file);
            self.named.push(Violation::new(field, message));
        }
    }
}

impl Channel {
    fn of(name: &str) -> Option<Self> {
        Some(match name {
            "t_utc" => Self::Time,
            "position_m" => Self::Position,
            "speed_m_per_min" => Self::Speed,
            "lamps_on" => Self::LampsOn,
            "lamp_mask" => Self::LampMask,
            "pressure_bar_g" => Self::Pressure,
            "pressure2_bar_g" => Self::Pressure2,
            "t_ir1_c" => Self::Infrared(0),
            "t_ir2_c" => Self::Infrared(1),
            "t_ir3_c" => Self::Infrared(SENSORS - 1),
            "t_air_c" => Self::Air,
            "event" => Self::Event,
            "row" | "elapsed_s" | "note" => Self::Kept,
            extra if extra.starts_with("x_") => Self::Kept,
            _ => return None,
        })
    }

    /// Adds a cell to its column; false when it cannot be read. A row with a bad cell leaves its
    /// columns ragged, which nobody sees: such a file is refused.
    fn push(self, samples: &mut Samples, clock: &mut Clock, text: &[u8]) -> bool {
        let (column, value) = match self {
            Self::Time => return add(&mut samples.time_ms, clock.time_ms(text)),
            Self::LampMask => return add(&mut samples.lamp_mask, cells::lamp_mask(text)),
            Self::Event => return add(&mut samples.event, cells::event(text)),
            Self::Kept => return true,
            Self::Pressure => (&mut samples.pressure_kpa, cells::kpa_from_bar(text)),
            Self::Pressure2 => (&mut samples.pressure_2_kpa, cells::kpa_from_bar(text)),
            Self::Position => (&mut samples.position_m, cells::number(text)),
            Self::Speed => (&mut samples.speed_m_per_min, cells::number(text)),
            Self::LampsOn => (&mut samples.lamps_on, cells::number(text)),
            Self::Infrared(sensor) => (&mut samples.infrared_celsius[sensor], cells::number(text)),
            Self::Air => (&mut samples.air_celsius, cells::number(text)),
        };
        add(column, value)
    }

    fn wanted(self) -> &'static str {
        match self {
            Self::Time => "a time with Z such as 2026-05-04T13:02:11Z is",
            Self::Position => "a number in m is",
            Self::Speed => "a number in m/min is",
            Self::LampsOn => "a number of lamps is",
            Self::LampMask => "hexadecimal such as 0x1ff, for 31 lamps at most, is",
            Self::Pressure | Self::Pressure2 => "a number in bar above the air outside is",
            Self::Infrared(_) | Self::Air => "a number in degrees C is",
            Self::Event => "an event of the layout, or nothing, is",
            Self::Kept => "text is",
        }
    }
}

fn add<T>(column: &mut Vec<T>, value: Option<T>) -> bool {
    let taken = value.is_some();
    column.extend(value);
    taken
}
