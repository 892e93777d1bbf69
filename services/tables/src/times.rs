//! Dates and times as tables write them.

use jiff::{
    Timestamp,
    civil::{Date, DateTime, Time},
    tz::TimeZone,
};
use serde::Deserialize;

/// Order and signs of a date.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
pub(crate) enum DateForm {
    /// Year first, as ISO 8601 has it.
    #[default]
    #[serde(rename = "yyyy-mm-dd")]
    Year,
    /// Month first, with strokes.
    #[serde(rename = "mm/dd/yyyy")]
    Month,
    /// Day first, with dots.
    #[serde(rename = "dd.mm.yyyy")]
    Day,
}

impl DateForm {
    /// Name of the form in a column map.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Year => "yyyy-mm-dd",
            Self::Month => "mm/dd/yyyy",
            Self::Day => "dd.mm.yyyy",
        }
    }

    /// Date of a cell.
    pub(crate) fn parse(self, text: &str) -> Result<Date, String> {
        let wrong = || {
            format!(
                "{text:?} is no day in the form {}: write it so",
                self.word()
            )
        };
        let sign = match self {
            Self::Year => '-',
            Self::Month => '/',
            Self::Day => '.',
        };
        let parts: Vec<&str> = text.split(sign).collect();
        let [first, second, third] = parts[..] else {
            return Err(wrong());
        };
        let (year, month, day) = match self {
            Self::Year => (first, second, third),
            Self::Month => (third, first, second),
            Self::Day => (third, second, first),
        };
        let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        if year.len() != 4 || ![year, month, day].into_iter().all(digits) {
            return Err(wrong());
        }
        let parsed = (year.parse(), month.parse(), day.parse());
        let (Ok(year), Ok(month), Ok(day)) = parsed else {
            return Err(wrong());
        };
        Date::new(year, month, day).map_err(|_| wrong())
    }

    /// Cell text of a date.
    pub(crate) fn print(self, date: Date) -> String {
        let (year, month, day) = (date.year(), date.month(), date.day());
        match self {
            Self::Year => format!("{year:04}-{month:02}-{day:02}"),
            Self::Month => format!("{month:02}/{day:02}/{year:04}"),
            Self::Day => format!("{day:02}.{month:02}.{year:04}"),
        }
    }
}

/// Instant of a cell: RFC 3339 with its zone, or a date and a local time in the map's time zone.
pub(crate) fn parse_time(
    text: &str,
    form: DateForm,
    zone: Option<&TimeZone>,
) -> Result<Timestamp, String> {
    if let Ok(instant) = text.parse::<Timestamp>() {
        return Ok(instant);
    }
    let wrong = || {
        let form = form.word();
        format!(
            "{text:?} is no time in the form {form} hh:mm or 2026-05-04T09:15:00-04:00: write it so"
        )
    };
    let (date, time) = text.split_once([' ', 'T']).ok_or_else(wrong)?;
    let date = form.parse(date).map_err(|_| wrong())?;
    let time = clock(time.trim()).ok_or_else(wrong)?;
    let Some(zone) = zone else {
        return Err(format!(
            "{text:?} has no zone: set time_zone in the column map, or write its offset"
        ));
    };
    let local = zone.to_ambiguous_timestamp(DateTime::from_parts(date, time));
    local.unambiguous().map_err(|_| {
        format!(
            "{text:?} happens twice or never, since clocks changed then: write it with its offset"
        )
    })
}

/// Cell text of an instant: local with its offset where a zone is set, else in UTC.
pub(crate) fn print_time(instant: Timestamp, zone: Option<&TimeZone>) -> String {
    let offset = zone.map(|zone| zone.to_offset(instant));
    match offset {
        Some(offset) if offset.seconds() % 60 == 0 => {
            instant.display_with_offset(offset).to_string()
        }
        _ => instant.to_string(),
    }
}

/// Time of day as `hh:mm` or `hh:mm:ss`, with one digit allowed for the hour.
fn clock(text: &str) -> Option<Time> {
    let parts: Vec<&str> = text.split(':').collect();
    let digits =
        |part: &&str| (1..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    if !matches!(parts.len(), 2 | 3) || !parts.iter().all(digits) {
        return None;
    }
    let numbers: Vec<i8> = parts.iter().filter_map(|part| part.parse().ok()).collect();
    let second = numbers.get(2).copied().unwrap_or_default();
    Time::new(*numbers.first()?, *numbers.get(1)?, second, 0).ok()
}
