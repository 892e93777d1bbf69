//! One cell of the neutral cure log CSV: a number, a time, a lamp mask, an event.

use jiff::{Timestamp, civil::Date, tz::TimeZone};
use obvert_engineering::cure_log::{Event, LAMP_MASK_ABSENT, TIME_ABSENT_MS};

/// Milliseconds in a day.
const DAY_MS: i64 = 86_400_000;

/// A number, or NaN for an empty cell.
pub(super) fn number(cell: &[u8]) -> Option<f64> {
    if cell.is_empty() {
        return Some(f64::NAN);
    }
    let value: f64 = std::str::from_utf8(cell).ok()?.trim().parse().ok()?;
    value.is_finite().then_some(value)
}

/// A pressure in kPa from a cell in bar, kept on a grid of a millionth of a kPa so that a limit of
/// the same decimal figure is met exactly.
pub(super) fn kpa_from_bar(cell: &[u8]) -> Option<f64> {
    number(cell).map(|bar| (bar * 1e8).round() / 1e6)
}

/// Lamps that burn, from hexadecimal.
pub(super) fn lamp_mask(cell: &[u8]) -> Option<u32> {
    if cell.is_empty() {
        return Some(LAMP_MASK_ABSENT);
    }
    let text = std::str::from_utf8(cell).ok()?.trim();
    let digits = text
        .strip_prefix("0x")
        .or_else(|| text.strip_prefix("0X"))?;
    // Thirty-one lamps at most; a sign is no digit.
    u32::from_str_radix(digits, 16)
        .ok()
        .filter(|mask| *mask < 1 << 31 && !digits.starts_with('+'))
}

/// An event of the layout.
pub(super) fn event(cell: &[u8]) -> Option<Event> {
    Event::from_word(std::str::from_utf8(cell).ok()?)
}

/// Reads times; consecutive ones share their day.
#[derive(Debug, Default)]
pub(super) struct Clock {
    day: [u8; 10],
    day_ms: i64,
}

impl Clock {
    /// Milliseconds since 1970, or the absent mark for an empty cell.
    pub(super) fn time_ms(&mut self, cell: &[u8]) -> Option<i64> {
        if cell.is_empty() {
            return Some(TIME_ABSENT_MS);
        }
        self.of_day(cell).or_else(|| {
            let text = std::str::from_utf8(cell).ok()?;
            text.trim()
                .parse::<Timestamp>()
                .ok()
                .map(Timestamp::as_millisecond)
        })
    }

    /// A time in the layout's own form, with whole or decimal seconds.
    fn of_day(&mut self, cell: &[u8]) -> Option<i64> {
        let (day, rest) = cell.split_first_chunk::<10>()?;
        let (time, rest) = rest.split_first_chunk::<9>()?;
        let [b'T', h1, h2, b':', m1, m2, b':', s1, s2] = *time else {
            return None;
        };
        let two = |a: u8, b: u8| Some(i64::from(digit(a)?) * 10 + i64::from(digit(b)?));
        let (hours, minutes, seconds) = (two(h1, h2)?, two(m1, m2)?, two(s1, s2)?);
        if hours > 23 || minutes > 59 || seconds > 59 {
            return None;
        }
        let of_second = match rest {
            b"Z" => 0,
            [b'.', digits @ .., b'Z'] if !digits.is_empty() => milliseconds(digits)?,
            _ => return None,
        };
        if *day != self.day {
            self.day_ms = day_ms(day)?;
            self.day = *day;
        }
        Some(self.day_ms + ((hours * 60 + minutes) * 60 + seconds) * 1000 + of_second)
    }
}

fn day_ms(day: &[u8]) -> Option<i64> {
    let date: Date = std::str::from_utf8(day).ok()?.parse().ok()?;
    let start = TimeZone::UTC.to_timestamp(date.at(0, 0, 0, 0)).ok()?;
    Some(start.as_millisecond().div_euclid(DAY_MS) * DAY_MS)
}

fn milliseconds(digits: &[u8]) -> Option<i64> {
    let known: Option<Vec<u8>> = digits.iter().map(|byte| digit(*byte)).collect();
    let known = known?;
    let place = |index: usize| i64::from(known.get(index).copied().unwrap_or_default());
    Some(place(0) * 100 + place(1) * 10 + place(2))
}

fn digit(byte: u8) -> Option<u8> {
    byte.is_ascii_digit().then(|| byte - b'0')
}
