//! Length of liner to order for a run.

use crate::field::{Field, OutOfRange, Problems};

/// Lengths that make up an order.
///
/// # Equation
///
/// ```text
/// L = Σ wall-to-wall + Σ intermediate manhole openings
///   + 2 · (packer grip + sample + trim) + reserve
/// ```
///
/// The stretch of a liner in the pull is never credited.
///
/// # Units
///
/// All lengths in m.
///
/// # Range
///
/// [`LinerLength::RANGES`]; a run has at least one segment, and one manhole opening between each
/// two of them.
///
/// # Source
///
/// Own definition, by addition.
///
/// # Example
///
/// Own example, checked by hand: 31.0 + 30.2 + 1.2 + 2 · (0.6 + 0.5 + 0.2) + 0.5 = 65.5.
///
/// ```
/// # use obvert_engineering::liner_length::LinerLength;
/// let order = LinerLength {
///     wall_to_wall_m: vec![31.0, 30.2],
///     intermediate_manholes_m: vec![1.2],
///     packer_grip_m: 0.6,
///     sample_m: 0.5,
///     trim_m: 0.2,
///     reserve_m: 0.5,
/// };
/// assert!((order.order_length_m().unwrap() - 65.5).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LinerLength {
    /// Inside wall to inside wall of each segment in order, m.
    pub wall_to_wall_m: Vec<f64>,
    /// Opening of each manhole that the liner runs through, m.
    pub intermediate_manholes_m: Vec<f64>,
    /// Liner that a packer grips at one end, m.
    pub packer_grip_m: f64,
    /// Liner for samples at one end, m.
    pub sample_m: f64,
    /// Liner that is trimmed at one end, m.
    pub trim_m: f64,
    /// Reserve over the whole order, m.
    pub reserve_m: f64,
}

impl LinerLength {
    /// Ranges taken, in the order of the struct; the first two hold for each entry.
    pub const RANGES: &'static [Field] = &[
        Field {
            name: "wall_to_wall_m",
            unit: "m",
            min: 0.1,
            max: 1000.0,
        },
        Field {
            name: "intermediate_manholes_m",
            unit: "m",
            min: 0.0,
            max: 20.0,
        },
        Field {
            name: "packer_grip_m",
            unit: "m",
            min: 0.0,
            max: 5.0,
        },
        Field {
            name: "sample_m",
            unit: "m",
            min: 0.0,
            max: 5.0,
        },
        Field {
            name: "trim_m",
            unit: "m",
            min: 0.0,
            max: 5.0,
        },
        Field {
            name: "reserve_m",
            unit: "m",
            min: 0.0,
            max: 50.0,
        },
    ];

    /// Length to order, m.
    ///
    /// # Errors
    ///
    /// Returns every length out of range, and a number of manholes that does not fit the
    /// number of segments.
    pub fn order_length_m(&self) -> Result<f64, Problems> {
        self.check()?;
        let run_m: f64 = self
            .wall_to_wall_m
            .iter()
            .chain(&self.intermediate_manholes_m)
            .sum();
        let end_m = self.packer_grip_m + self.sample_m + self.trim_m;
        Ok(run_m + 2.0 * end_m + self.reserve_m)
    }

    fn check(&self) -> Result<(), Problems> {
        let singles = [
            self.packer_grip_m,
            self.sample_m,
            self.trim_m,
            self.reserve_m,
        ];
        let mut found = Vec::new();
        for (field, list) in Self::RANGES
            .iter()
            .zip([&self.wall_to_wall_m, &self.intermediate_manholes_m])
        {
            for (place, value) in list.iter().enumerate() {
                let named = |problem| OutOfRange {
                    field: format!("{}[{place}]", field.name),
                    ..problem
                };
                found.extend(field.problem(*value).map(named));
            }
        }
        let singles = Self::RANGES[2..].iter().zip(singles);
        found.extend(singles.filter_map(|(field, value)| field.problem(value)));
        let segments = self.wall_to_wall_m.len();
        let between = segments.saturating_sub(1) as f64;
        if segments == 0 {
            found.push(OutOfRange {
                field: "wall_to_wall_m".to_owned(),
                value: 0.0,
                min: 1.0,
                max: 100.0,
                unit: "segments",
                remedy: "Name the segments that the liner runs through.".to_owned(),
            });
        } else if self.intermediate_manholes_m.len() as f64 != between {
            found.push(OutOfRange {
                field: "intermediate_manholes_m".to_owned(),
                value: self.intermediate_manholes_m.len() as f64,
                min: between,
                max: between,
                unit: "manholes",
                remedy: "Give one opening for each manhole between two segments.".to_owned(),
            });
        }
        Problems::or_ok(found)
    }
}
