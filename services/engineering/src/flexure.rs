//! Mean and scatter of specimens in a flexural test.
//!
//! The standard deviation is the SAMPLE one, with n − 1. A report of the US EPA does the same
//! (EPA/600/R-12/004, Table 4-18).

use crate::field::{Field, OutOfRange, Problems};

/// Mean and scatter of a set of specimens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpecimenStatistics {
    /// Number of specimens.
    pub specimen_count: usize,
    /// Arithmetic mean, in the unit of the values.
    pub mean: f64,
    /// Smallest value.
    pub minimum: f64,
    /// Largest value.
    pub maximum: f64,
    /// Standard deviation with n − 1; `None` for a single specimen.
    pub sample_standard_deviation: Option<f64>,
}

/// Range of one value, wide enough for a load, a stress or a modulus in any unit of the trade.
const VALUE: Field = Field {
    name: "specimens",
    unit: "-",
    min: 0.0,
    max: 1e9,
};

impl SpecimenStatistics {
    /// Statistics of the values of a set of specimens, all in one unit.
    ///
    /// # Equation
    ///
    /// ```text
    /// mean = Σx/n,   s = √(Σ(x − mean)²/(n − 1))
    /// ```
    ///
    /// # Units
    ///
    /// Those of the values.
    ///
    /// # Range
    ///
    /// At least one value; each from 0 to a thousand million.
    ///
    /// # Source
    ///
    /// Definition; compared with EPA/600/R-12/004, Table 4-18.
    ///
    /// # Errors
    ///
    /// Returns all values out of range, or an empty list.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (Table 4-18, shear stress 541 ± 41 psi); matches.
    /// use obvert_engineering::flexure::SpecimenStatistics;
    /// let set = SpecimenStatistics::of(&[476.0, 559.0, 589.0, 541.0, 540.0])?;
    /// assert_eq!(format!("{:.0}", set.mean), "541");
    /// assert_eq!(format!("{:.0}", set.sample_standard_deviation.unwrap_or(0.0)), "41");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub fn of(values: &[f64]) -> Result<Self, Problems> {
        let mut found: Vec<OutOfRange> = Vec::new();
        if values.is_empty() {
            found.push(OutOfRange {
                field: "specimens".to_owned(),
                value: 0.0,
                min: 1.0,
                max: f64::INFINITY,
                unit: "specimens",
                remedy: "Give the value of at least one specimen.".to_owned(),
            });
        }
        found.extend(values.iter().enumerate().filter_map(|(index, value)| {
            let problem = VALUE.problem(*value)?;
            Some(OutOfRange {
                field: format!("specimens[{index}]"),
                ..problem
            })
        }));
        Problems::or_ok(found)?;
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        Ok(Self {
            specimen_count: values.len(),
            mean,
            minimum: values.iter().copied().fold(f64::INFINITY, f64::min),
            maximum: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            sample_standard_deviation: (count > 1.0).then(|| (squares / (count - 1.0)).sqrt()),
        })
    }
}
