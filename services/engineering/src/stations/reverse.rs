//! A survey driven from the other manhole.

use super::Opening;

/// Clock position of the same opening seen by a camera that looks the other way.
///
/// # Equation
///
/// ```text
/// clock' = 12 - clock;  12 stays 12
/// ```
///
/// # Units
///
/// Hours of the clock face.
///
/// # Range
///
/// 0 to 12, where 0 is read as 12; other values come back as NaN.
///
/// # Source
///
/// Own definition, by geometry.
///
/// # Example
///
/// Own example, checked by hand.
///
/// ```
/// # use obvert_engineering::stations::mirrored_clock_h;
/// assert_eq!(mirrored_clock_h(3.0), 9.0);
/// assert_eq!(mirrored_clock_h(12.0), 12.0);
/// assert!(mirrored_clock_h(13.0).is_nan());
/// ```
pub fn mirrored_clock_h(clock_h: f64) -> f64 {
    match clock_h {
        0.0 | 12.0 => 12.0,
        inside if inside > 0.0 && inside < 12.0 => 12.0 - inside,
        _ => f64::NAN,
    }
}

/// Openings of a survey as the opposite manhole would count them, last one first.
///
/// # Equation
///
/// ```text
/// station' = length - station
/// ```
///
/// # Units
///
/// m; the length runs from the one survey's datum to that of the other.
///
/// # Range
///
/// Any.
///
/// # Source
///
/// Own definition, by geometry.
///
/// # Example
///
/// Own example, checked by hand: in 30 m of pipe, 12.0 at 2 o'clock becomes 18.0 at 10.
///
/// ```
/// # use obvert_engineering::stations::{Opening, reversed};
/// let seen = [Opening { label: "L1".into(), station_m: 12.0, clock_h: Some(2.0) }];
/// let turned = reversed(&seen, 30.0);
/// assert_eq!((turned[0].station_m, turned[0].clock_h), (18.0, Some(10.0)));
/// ```
pub fn reversed(openings: &[Opening], length_m: f64) -> Vec<Opening> {
    openings
        .iter()
        .rev()
        .map(|opening| Opening {
            label: opening.label.clone(),
            station_m: length_m - opening.station_m,
            clock_h: opening.clock_h.map(mirrored_clock_h),
        })
        .collect()
}
