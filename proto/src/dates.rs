//! Conversions between the schema's dates and times and those of the calendar library.

use jiff::{Timestamp, civil::Date};

use crate::common::v1::LocalDate;

impl LocalDate {
    /// Calendar date, or `None` for a day that does not exist, such as 30 February.
    pub fn to_civil(&self) -> Option<Date> {
        let year = i16::try_from(self.year).ok()?;
        let month = i8::try_from(self.month).ok()?;
        Date::new(year, month, i8::try_from(self.day).ok()?).ok()
    }

    /// The schema's form of a calendar date.
    pub fn from_civil(date: Date) -> Self {
        Self {
            year: date.year().into(),
            month: date.month().into(),
            day: date.day().into(),
        }
    }
}

/// Milliseconds since 1970-01-01T00:00:00Z of a schema time, rounded down.
pub fn unix_ms(time: &prost_types::Timestamp) -> i64 {
    time.seconds
        .saturating_mul(1_000)
        .saturating_add(i64::from(time.nanos) / 1_000_000)
}

/// Schema time of milliseconds since 1970-01-01T00:00:00Z.
pub fn from_unix_ms(ms: i64) -> prost_types::Timestamp {
    let nanos = i32::try_from(ms.rem_euclid(1_000) * 1_000_000).unwrap_or_default();
    prost_types::Timestamp {
        seconds: ms.div_euclid(1_000),
        nanos,
    }
}

/// Instant of a schema time, or `None` outside the years the calendar knows.
pub fn instant(time: &prost_types::Timestamp) -> Option<Timestamp> {
    Timestamp::new(time.seconds, time.nanos).ok()
}
