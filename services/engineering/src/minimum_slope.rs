//! Slope at which a full pipe runs fast enough to keep itself clean.
//!
//! The City Code of Purcell OK, 12-488, lists slopes for 2 ft/s at n 0.013. Its 0.20 percent for
//! 10 in is a misprint of 0.28: at 0.20 the pipe runs at 1.80 ft/s.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Slope of a full pipe for a velocity, in SI.
    ///
    /// # Equation
    ///
    /// ```text
    /// S = (V·n/(D/4)^(2/3))²
    /// ```
    ///
    /// # Units
    ///
    /// Bore in m, velocity in m/s; the result is a ratio.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Manning's equation, solved for the slope.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: the 0.660288 m/s of 200 mm at n 0.013 come from 0.4 percent.
    /// use obvert_engineering::minimum_slope::MinimumSlope;
    /// let pipe = MinimumSlope {
    ///     inside_diameter_m: 0.2,
    ///     roughness_n: 0.013,
    ///     velocity_m_per_s: 0.660288,
    /// };
    /// assert_eq!(format!("{:.6}", pipe.slope()?), "0.004000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct MinimumSlope {
        /// Finished bore.
        inside_diameter_m: "m" in 0.05..=6.0,
        /// Manning's roughness.
        roughness_n: "-" in 0.005..=0.05,
        /// Velocity that the full pipe shall reach.
        velocity_m_per_s: "m/s" in 0.01..=10.0,
    }
}

inputs! {
    /// Slope of a full pipe for a velocity, in US units with the factor 1.486.
    ///
    /// # Equation
    ///
    /// ```text
    /// S = (V·n/(1.486·(D/4)^(2/3)))²
    /// ```
    ///
    /// # Units
    ///
    /// Bore in ft, velocity in ft/s; the result is a ratio.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Manning's equation, solved for the slope; City Code of Purcell OK, 12-488, for 2 ft/s.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (18 in lists 0.12 percent); 0.113 is enough, rounded up.
    /// use obvert_engineering::minimum_slope::MinimumSlopeUs;
    /// let pipe = MinimumSlopeUs {
    ///     inside_diameter_ft: 1.5,
    ///     roughness_n: 0.013,
    ///     velocity_ft_per_s: 2.0,
    /// };
    /// assert_eq!(format!("{:.3}", 100.0 * pipe.slope()?), "0.113");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct MinimumSlopeUs {
        /// Finished bore.
        inside_diameter_ft: "ft" in 0.15..=20.0,
        /// Manning's roughness.
        roughness_n: "-" in 0.005..=0.05,
        /// Velocity that the full pipe shall reach.
        velocity_ft_per_s: "ft/s" in 0.03..=33.0,
    }
}

impl MinimumSlope {
    /// The slope.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn slope(&self) -> Result<f64, Problems> {
        self.check()?;
        let radius = (self.inside_diameter_m / 4.0).powf(2.0 / 3.0);
        Ok((self.velocity_m_per_s * self.roughness_n / radius).powi(2))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "minimum-slope",
        title: "slope of a full pipe for a velocity, SI",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "slope",
            unit: "-",
        }],
        source: "Manning's equation",
        run: |values| one(Self::from_values(values)?.slope()),
    };
}

impl MinimumSlopeUs {
    /// The slope.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn slope(&self) -> Result<f64, Problems> {
        self.check()?;
        let radius = 1.486 * (self.inside_diameter_ft / 4.0).powf(2.0 / 3.0);
        Ok((self.velocity_ft_per_s * self.roughness_n / radius).powi(2))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "minimum-slope-us",
        title: "slope of a full pipe for a velocity, US units",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "slope",
            unit: "-",
        }],
        source: "Manning's equation; City Code of Purcell OK, 12-488",
        run: |values| one(Self::from_values(values)?.slope()),
    };
}
