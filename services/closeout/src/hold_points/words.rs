//! Dates and times of fields, for findings.

use jiff::civil::Date;
use obvert_proto::{common::v1::LocalDate, dates::unix_ms};

/// Calendar date of a field, if it holds one.
pub(super) fn date(date: Option<&LocalDate>) -> Option<Date> {
    date.and_then(LocalDate::to_civil)
}

/// Milliseconds of a field, if it holds a time.
pub(super) fn ms(time: Option<&prost_types::Timestamp>) -> Option<i64> {
    time.map(unix_ms)
}

/// Hours from one instant to another.
pub(super) fn hours(from_ms: i64, to_ms: i64) -> f64 {
    (to_ms - from_ms) as f64 / 3_600_000.0
}

/// Whole days from one date to another.
pub(super) fn days(from: Date, to: Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}
