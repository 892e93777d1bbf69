//! Flow in a full pipe; what a liner does to it is in [`crate::capacity`].
//!
//! The finished bore is D − 2·t with the TOTAL wall, films and wear layer that stay included.
//! Roughness n: liner 0.009 to 0.012, clay and concrete 0.013 to 0.017, brick 0.015 to 0.017,
//! corrugated metal 0.019 to 0.030 (Najafi, Trenchless Technology Piping, 2010, Table 2.13).

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output};

inputs! {
    /// Flow and velocity of a full pipe, in SI.
    ///
    /// # Equation
    ///
    /// ```text
    /// V = (1/n)·(D/4)^(2/3)·√S,   Q = V·π·D²/4
    /// ```
    ///
    /// # Units
    ///
    /// Bore in m, slope as a ratio; results in m³/s and m/s.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Manning's equation; Najafi, Trenchless Technology Piping, 2010, Tables 2.13 and 2.14.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand.
    /// use obvert_engineering::full_flow::FullFlow;
    /// let pipe = FullFlow { inside_diameter_m: 0.2, roughness_n: 0.013, slope: 0.004 };
    /// assert_eq!(format!("{:.6}", pipe.flow_m3_per_s()?), "0.020744");
    /// assert_eq!(format!("{:.6}", pipe.velocity_m_per_s()?), "0.660288");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct FullFlow {
        /// Finished bore.
        inside_diameter_m: "m" in 0.05..=6.0,
        /// Manning's roughness.
        roughness_n: "-" in 0.005..=0.05,
        /// Slope of the invert, as a ratio.
        slope: "-" in 0.00001..=1.0,
    }
}

inputs! {
    /// Flow and velocity of a full pipe, in US units with the factor 1.486.
    ///
    /// # Equation
    ///
    /// ```text
    /// V = (1.486/n)·(D/4)^(2/3)·√S,   Q = V·π·D²/4
    /// ```
    ///
    /// # Units
    ///
    /// Bore in ft, slope as a ratio; results in ft³/s and ft/s.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// Manning's equation; minimum slopes for 2 ft/s in the City Code of Purcell OK, 12-488.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (12 in at 0.22 percent keeps 2 ft/s); matches with 2.13.
    /// use obvert_engineering::full_flow::FullFlowUs;
    /// let pipe = FullFlowUs { inside_diameter_ft: 1.0, roughness_n: 0.013, slope: 0.0022 };
    /// assert_eq!(format!("{:.2}", pipe.velocity_ft_per_s()?), "2.13");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct FullFlowUs {
        /// Finished bore.
        inside_diameter_ft: "ft" in 0.15..=20.0,
        /// Manning's roughness.
        roughness_n: "-" in 0.005..=0.05,
        /// Slope of the invert, as a ratio.
        slope: "-" in 0.00001..=1.0,
    }
}

impl FullFlow {
    /// Velocity of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn velocity_m_per_s(&self) -> Result<f64, Problems> {
        self.check()?;
        let radius_m = self.inside_diameter_m / 4.0;
        Ok(radius_m.powf(2.0 / 3.0) * self.slope.sqrt() / self.roughness_n)
    }

    /// Flow of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn flow_m3_per_s(&self) -> Result<f64, Problems> {
        Ok(self.velocity_m_per_s()? * circle_area(self.inside_diameter_m))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "full-flow",
        title: "flow and velocity of a full pipe, SI",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "flow_m3_per_s",
                unit: "m³/s",
            },
            Output {
                name: "velocity_m_per_s",
                unit: "m/s",
            },
        ],
        source: "Manning's equation; Najafi 2010, Tables 2.13 and 2.14",
        run: |values| {
            let pipe = Self::from_values(values)?;
            Ok(vec![
                Some(pipe.flow_m3_per_s()?),
                Some(pipe.velocity_m_per_s()?),
            ])
        },
    };
}

impl FullFlowUs {
    /// Velocity of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn velocity_ft_per_s(&self) -> Result<f64, Problems> {
        self.check()?;
        let radius_ft = self.inside_diameter_ft / 4.0;
        Ok(1.486 * radius_ft.powf(2.0 / 3.0) * self.slope.sqrt() / self.roughness_n)
    }

    /// Flow of the full pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn flow_ft3_per_s(&self) -> Result<f64, Problems> {
        Ok(self.velocity_ft_per_s()? * circle_area(self.inside_diameter_ft))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "full-flow-us",
        title: "flow and velocity of a full pipe, US units",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "flow_ft3_per_s",
                unit: "ft³/s",
            },
            Output {
                name: "velocity_ft_per_s",
                unit: "ft/s",
            },
        ],
        source: "Manning's equation; City Code of Purcell OK, 12-488",
        run: |values| {
            let pipe = Self::from_values(values)?;
            Ok(vec![
                Some(pipe.flow_ft3_per_s()?),
                Some(pipe.velocity_ft_per_s()?),
            ])
        },
    };
}

fn circle_area(diameter: f64) -> f64 {
    std::f64::consts::PI * diameter * diameter / 4.0
}
