//! The columns of a cure log, as they stand in memory.

/// Lamp states of a row that were not recorded; so a train has 31 lamps at most.
pub const LAMP_MASK_ABSENT: u32 = u32::MAX;

/// Clock time of a row that was not recorded.
pub const TIME_ABSENT_MS: i64 = i64::MIN;

/// One cure log, a column per channel.
///
/// Absent is never zero. A channel that was not recorded at all is an empty column. A single
/// reading that is missing is NaN (any value that is not finite counts as missing), or
/// [`LAMP_MASK_ABSENT`], or [`TIME_ABSENT_MS`]. `elapsed_s` and `position_m` must be there, and
/// one of `lamps_on` and `lamp_mask`; every column that is not empty has the same length.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Channels {
    /// Time since the log's start, s.
    pub elapsed_s: Vec<f64>,
    /// Clock time, milliseconds since 1970-01-01 UTC.
    pub t_unix_ms: Vec<i64>,
    /// Position of the train's reference point by its counter, m, from the counter's zero.
    pub position_m: Vec<f64>,
    /// Speed as the controller wrote it, m/min; the figures derive their own from position.
    pub speed_m_per_min: Vec<f64>,
    /// Number of lamps lit.
    pub lamps_on: Vec<f64>,
    /// Lamp states; bit 0 is the leading lamp. Where recorded, it goes before `lamps_on`.
    pub lamp_mask: Vec<u32>,
    /// Inner pressure above the air outside, bar.
    pub pressure_bar_g: Vec<f64>,
    /// Second gauge of the inner pressure, bar.
    pub pressure2_bar_g: Vec<f64>,
    /// Wall temperature by infrared sensor, degrees C, a column per sensor.
    pub infrared_c: Vec<Vec<f64>>,
    /// Air temperature in the liner, degrees C.
    pub air_c: Vec<f64>,
    /// What the crew or the controller noted at the row.
    pub event: Vec<Event>,
}

/// A column whose length differs from that of `elapsed_s`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ragged {
    /// Name of the column.
    pub channel: String,
    /// Rows it has.
    pub rows: usize,
    /// Rows that `elapsed_s` has.
    pub expected: usize,
}

/// What was noted at a row of the log.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[repr(u8)]
pub enum Event {
    /// Nothing noted.
    #[default]
    None,
    /// Logging began.
    Start,
    /// A lamp was lit.
    Ignite,
    /// The train began to travel.
    Travel,
    /// The train was stopped.
    Stop,
    /// Travel went on after a stop.
    Resume,
    /// A lamp failed.
    LampFail,
    /// The pressure left the controller's own limits.
    PressureAlarm,
    /// A temperature left the controller's own limits.
    TempAlarm,
    /// The run ended as planned.
    End,
    /// The run was broken off.
    Abort,
    /// A remark in words.
    Note,
}

impl Event {
    const ALL: [Self; 12] = [
        Self::None,
        Self::Start,
        Self::Ignite,
        Self::Travel,
        Self::Stop,
        Self::Resume,
        Self::LampFail,
        Self::PressureAlarm,
        Self::TempAlarm,
        Self::End,
        Self::Abort,
        Self::Note,
    ];

    /// Word of the event in the neutral import layout; empty for [`Event::None`].
    pub fn word(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Start => "start",
            Self::Ignite => "ignite",
            Self::Travel => "travel",
            Self::Stop => "stop",
            Self::Resume => "resume",
            Self::LampFail => "lamp_fail",
            Self::PressureAlarm => "pressure_alarm",
            Self::TempAlarm => "temp_alarm",
            Self::End => "end",
            Self::Abort => "abort",
            Self::Note => "note",
        }
    }

    /// Event of a word, or none when the word is not one of the layout's.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|event| event.word() == word)
    }

    /// Event of its number as stored (`event as u8`), or none when there is no such number.
    pub fn from_code(code: u8) -> Option<Self> {
        Self::ALL.get(usize::from(code)).copied()
    }
}

impl Channels {
    /// Number of rows, by `elapsed_s`.
    pub fn rows(&self) -> usize {
        self.elapsed_s.len()
    }

    /// Every recorded column whose length is not the number of rows; empty when sound.
    pub fn ragged(&self) -> Vec<Ragged> {
        let expected = self.rows();
        let mut columns = vec![
            ("position_m".to_owned(), self.position_m.len()),
            ("t_unix_ms".to_owned(), self.t_unix_ms.len()),
            ("speed_m_per_min".to_owned(), self.speed_m_per_min.len()),
            ("lamps_on".to_owned(), self.lamps_on.len()),
            ("lamp_mask".to_owned(), self.lamp_mask.len()),
            ("pressure_bar_g".to_owned(), self.pressure_bar_g.len()),
            ("pressure2_bar_g".to_owned(), self.pressure2_bar_g.len()),
            ("air_c".to_owned(), self.air_c.len()),
            ("event".to_owned(), self.event.len()),
        ];
        for (sensor, column) in self.infrared_c.iter().enumerate() {
            columns.push((format!("infrared_c[{sensor}]"), column.len()));
        }
        columns
            .into_iter()
            .filter(|(name, rows)| *rows != expected && (*rows > 0 || name == "position_m"))
            .map(|(channel, rows)| Ragged {
                channel,
                rows,
                expected,
            })
            .collect()
    }

    /// Copy with the named rows only, in the order given.
    pub(super) fn pick(&self, rows: &[u32]) -> Self {
        Self {
            elapsed_s: gather(&self.elapsed_s, rows),
            t_unix_ms: gather(&self.t_unix_ms, rows),
            position_m: gather(&self.position_m, rows),
            speed_m_per_min: gather(&self.speed_m_per_min, rows),
            lamps_on: gather(&self.lamps_on, rows),
            lamp_mask: gather(&self.lamp_mask, rows),
            pressure_bar_g: gather(&self.pressure_bar_g, rows),
            pressure2_bar_g: gather(&self.pressure2_bar_g, rows),
            infrared_c: self
                .infrared_c
                .iter()
                .map(|column| gather(column, rows))
                .collect(),
            air_c: gather(&self.air_c, rows),
            event: gather(&self.event, rows),
        }
    }

    /// Whether two rows agree in every channel, bit by bit.
    pub(super) fn same_row(&self, a: usize, b: usize) -> bool {
        let numbers = [
            &self.elapsed_s,
            &self.position_m,
            &self.speed_m_per_min,
            &self.lamps_on,
            &self.pressure_bar_g,
            &self.pressure2_bar_g,
            &self.air_c,
        ];
        numbers
            .into_iter()
            .chain(&self.infrared_c)
            .all(|column| column.get(a).map(|v| v.to_bits()) == column.get(b).map(|v| v.to_bits()))
            && self.t_unix_ms.get(a) == self.t_unix_ms.get(b)
            && self.lamp_mask.get(a) == self.lamp_mask.get(b)
            && self.event.get(a) == self.event.get(b)
    }
}

fn gather<T: Copy>(column: &[T], rows: &[u32]) -> Vec<T> {
    if column.is_empty() {
        return Vec::new();
    }
    rows.iter().map(|&row| column[row as usize]).collect()
}
