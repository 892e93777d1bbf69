//! Days and times of the invented site, which lies in the time zone of New York.

use jiff::{Timestamp, ToSpan, civil::Date, tz::TimeZone};
use serde_json::{Value, json};

/// Time zone of the site.
pub(crate) const ZONE: &str = "America/New_York";

/// Day in 2025.
pub(crate) fn day(month: i8, of_month: i8) -> Date {
    jiff::civil::date(2025, month, of_month)
}

/// A number of days later, or earlier.
pub(crate) fn later(date: Date, days: i64) -> Date {
    date.saturating_add(days.days())
}

/// Working day: Monday to Friday, counted from a first one.
pub(crate) fn working_day(first: Date, count: usize) -> Date {
    let mut date = first;
    let mut left = count;
    while left > 0 {
        date = later(date, 1);
        if date.weekday().to_monday_zero_offset() < 5 {
            left -= 1;
        }
    }
    date
}

/// Instant of a minute of a day on site, to the second.
pub(crate) fn at(date: Date, minute: f64) -> Timestamp {
    let zone = TimeZone::get(ZONE).unwrap_or(TimeZone::UTC);
    let midnight = zone.to_timestamp(date.at(0, 0, 0, 0)).unwrap_or_default();
    let seconds = (minute * 60.0).round() as i64;
    midnight.checked_add(seconds.seconds()).unwrap_or_default()
}

/// Instant some seconds away.
pub(crate) fn shifted(time: Timestamp, seconds: f64) -> Timestamp {
    time.checked_add((seconds.round() as i64).seconds())
        .unwrap_or_default()
}

/// Instant in the JSON of a record.
pub(crate) fn instant(date: Date, minute: f64) -> Value {
    Value::String(at(date, minute).to_string())
}

/// Day in the JSON of a record.
pub(crate) fn local_date(date: Date) -> Value {
    json!({"year": date.year(), "month": date.month(), "day": date.day()})
}

/// Day as US offices write it.
pub(crate) fn us_date(date: Date) -> String {
    format!("{:02}/{:02}/{}", date.month(), date.day(), date.year())
}
