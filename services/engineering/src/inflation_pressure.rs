//! Pressure inside a liner while it hardens, against the water outside of it.

use crate::field::{Problems, inputs};
use crate::groundwater::WATER_MPA_PER_M;
use crate::registry::{Formula, Output};

inputs! {
    /// Internal pressure against groundwater and against sewage that stands in laterals.
    ///
    /// # Equation
    ///
    /// ```text
    /// outside = 9.81·max(groundwater head, sewage head)
    /// surplus = inside − outside
    /// ```
    ///
    /// # Units
    ///
    /// kPa and m above the invert; a negative surplus is an answer, not an error.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. The pressure must also lie in the maker's band.
    ///
    /// # Source
    ///
    /// Hydrostatics with 9.81 kN/m³; that the pressure must exceed groundwater head and sewage head
    /// is common practice.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 40 − 9.81·3.
    /// use obvert_engineering::inflation_pressure::InflationPressure;
    /// let liner = InflationPressure {
    ///     internal_pressure_kpa: 40.0,
    ///     groundwater_above_invert_m: 3.0,
    ///     sewage_above_invert_m: 1.2,
    /// };
    /// assert_eq!(format!("{:.2}", liner.surplus_kpa()?), "10.57");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct InflationPressure {
        /// Pressure inside the liner, above that of the air.
        internal_pressure_kpa: "kPa" in 0.0..=500.0,
        /// Groundwater above the invert.
        groundwater_above_invert_m: "m" in 0.0..=100.0,
        /// Highest sewage in a lateral or manhole, above the invert.
        sewage_above_invert_m: "m" in 0.0..=100.0,
    }
}

impl InflationPressure {
    /// Pressure of the water outside at the invert.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn outside_kpa(&self) -> Result<f64, Problems> {
        self.check()?;
        let head_m = self
            .groundwater_above_invert_m
            .max(self.sewage_above_invert_m);
        Ok(WATER_MPA_PER_M * 1000.0 * head_m)
    }

    /// What the pressure inside has over that outside.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn surplus_kpa(&self) -> Result<f64, Problems> {
        Ok(self.internal_pressure_kpa - self.outside_kpa()?)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "inflation-pressure",
        title: "internal pressure against groundwater and sewage head",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "surplus_kpa",
                unit: "kPa",
            },
            Output {
                name: "outside_kpa",
                unit: "kPa",
            },
        ],
        source: "hydrostatics; common practice, no source",
        run: |values| {
            let liner = Self::from_values(values)?;
            Ok(vec![Some(liner.surplus_kpa()?), Some(liner.outside_kpa()?)])
        },
    };
}
