//! Flow of a full pipe before and after lining.

use crate::field::{OutOfRange, Problems, inputs};
use crate::full_flow::FullFlow;
use crate::registry::{Formula, Output};

inputs! {
    /// Flow and velocity of a full pipe before and after lining.
    ///
    /// # Equation
    ///
    /// ```text
    /// D_after = D − 2·t,   Q = (1/n)·(D/4)^(2/3)·√S·π·D²/4 with n and D before and after
    /// ```
    ///
    /// # Units
    ///
    /// mm, slope as a ratio; results in m³/s, m/s and percent.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; the lined bore must be at least 50 mm. t is the TOTAL wall
    /// that stays, with films and wear layer.
    ///
    /// # Source
    ///
    /// Manning's equation; roughnesses in Najafi, Trenchless Technology Piping, 2010, Table 2.13.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: the bore of 191.6 mm at n 0.010 carries 1.159448 times more.
    /// use obvert_engineering::lined_flow::LinedFlow;
    /// let pipe = LinedFlow {
    ///     host_diameter_mm: 200.0,
    ///     total_wall_thickness_mm: 4.2,
    ///     roughness_before: 0.013,
    ///     roughness_after: 0.010,
    ///     slope: 0.004,
    /// };
    /// assert_eq!(format!("{:.7}", pipe.after()?.flow_m3_per_s()?), "0.0240511");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct LinedFlow {
        /// Inside diameter of the host pipe.
        host_diameter_mm: "mm" in 60.0..=5000.0,
        /// Total wall of the liner with all that stays in the pipe.
        total_wall_thickness_mm: "mm" in 0.0..=200.0,
        /// Manning's roughness of the host pipe.
        roughness_before: "-" in 0.005..=0.05,
        /// Manning's roughness of the liner.
        roughness_after: "-" in 0.005..=0.05,
        /// Slope of the invert, as a ratio.
        slope: "-" in 0.00001..=1.0,
    }
}

impl LinedFlow {
    /// The host pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn before(&self) -> Result<FullFlow, Problems> {
        self.check()?;
        Ok(FullFlow {
            inside_diameter_m: self.host_diameter_mm / 1000.0,
            roughness_n: self.roughness_before,
            slope: self.slope,
        })
    }

    /// The lined pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it leaves a bore below 50 mm.
    pub fn after(&self) -> Result<FullFlow, Problems> {
        self.check()?;
        let thickest_mm = (self.host_diameter_mm - 50.0) / 2.0;
        if self.total_wall_thickness_mm > thickest_mm {
            return Err(OutOfRange {
                field: "total_wall_thickness_mm".to_owned(),
                value: self.total_wall_thickness_mm,
                min: 0.0,
                max: thickest_mm,
                unit: "mm",
                remedy: "The wall leaves a bore below 50 mm: check wall and diameter.".to_owned(),
            }
            .into());
        }
        let bore_mm = self.host_diameter_mm - 2.0 * self.total_wall_thickness_mm;
        Ok(FullFlow {
            // The last digit of the difference must not carry the bore out of range.
            inside_diameter_m: (bore_mm / 1000.0).max(0.05),
            roughness_n: self.roughness_after,
            slope: self.slope,
        })
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "lined-flow",
        title: "flow and velocity of a full pipe before and after lining",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "flow_before_m3_per_s",
                unit: "m³/s",
            },
            Output {
                name: "flow_after_m3_per_s",
                unit: "m³/s",
            },
            Output {
                name: "velocity_before_m_per_s",
                unit: "m/s",
            },
            Output {
                name: "velocity_after_m_per_s",
                unit: "m/s",
            },
            Output {
                name: "capacity_percent",
                unit: "%",
            },
        ],
        source: "Manning's equation; Najafi 2010, Tables 2.13 and 2.14",
        run: |values| {
            let pipe = Self::from_values(values)?;
            let (before, after) = (pipe.before()?, pipe.after()?);
            let (flow_before, flow_after) = (before.flow_m3_per_s()?, after.flow_m3_per_s()?);
            Ok(vec![
                Some(flow_before),
                Some(flow_after),
                Some(before.velocity_m_per_s()?),
                Some(after.velocity_m_per_s()?),
                Some(100.0 * flow_after / flow_before),
            ])
        },
    };
}
