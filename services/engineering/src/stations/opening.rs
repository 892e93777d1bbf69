//! An opening in the pipe's wall, registered or seen.

/// A lateral as registered, or an opening as seen by a camera.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// Name by which findings call it.
    pub label: String,
    /// Station, m.
    pub station_m: f64,
    /// Clock position, hours above 0 to 12; none when nobody noted it.
    pub clock_h: Option<f64>,
}

/// Hours between two clock positions the short way round, from 0 to 6.
///
/// # Equation
///
/// ```text
/// d = |a - b| mod 12;  difference = min(d, 12 - d)
/// ```
///
/// # Units
///
/// Hours of the clock face.
///
/// # Range
///
/// Any; 0 and 12 are the same place.
///
/// # Source
///
/// Own definition, by geometry.
///
/// # Example
///
/// Own example, checked by hand: from 11 to 1 it is two hours over the crown.
///
/// ```
/// # use obvert_engineering::stations::clock_difference_h;
/// assert_eq!(clock_difference_h(11.0, 1.0), 2.0);
/// ```
pub fn clock_difference_h(a_h: f64, b_h: f64) -> f64 {
    let apart = (a_h - b_h).abs() % 12.0;
    apart.min(12.0 - apart)
}
