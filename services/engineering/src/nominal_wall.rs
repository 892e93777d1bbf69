//! From the wall that must stand in the pipe to the nominal wall of the tube that is ordered.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output};

inputs! {
    /// Nominal wall whose lower tolerance, stretched to the host's diameter, leaves the required
    /// wall.
    ///
    /// # Equation
    ///
    /// ```text
    /// t_nominal = t_required·max(1, D_installed/D_made)/(1 − τ/100)
    /// ```
    ///
    /// # Units
    ///
    /// mm; tolerance in percent of the nominal wall.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. A tube that was made larger than the host is not taken to
    /// be thicker in it: the ratio is at least 1. One specification takes 8 percent of stretch.
    ///
    /// # Source
    ///
    /// Constant volume of the wall, and the definition of a tolerance; that the installed wall
    /// counts is in Najafi, Trenchless Technology Piping, 2010, p. 85.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 4·(210/200)/0.95.
    /// use obvert_engineering::nominal_wall::NominalWall;
    /// let tube = NominalWall {
    ///     required_wall_thickness_mm: 4.0,
    ///     made_diameter_mm: 200.0,
    ///     installed_diameter_mm: 210.0,
    ///     tolerance_percent: 5.0,
    /// };
    /// assert_eq!(format!("{:.3}", tube.nominal_wall_thickness_mm()?), "4.421");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct NominalWall {
        /// Wall that must stand in the pipe.
        required_wall_thickness_mm: "mm" in 0.0..=200.0,
        /// Outside diameter for which the tube is made.
        made_diameter_mm: "mm" in 50.0..=5000.0,
        /// Outside diameter after inflation, which is the host's inside diameter.
        installed_diameter_mm: "mm" in 50.0..=5000.0,
        /// Lower tolerance of the maker, in percent of the nominal wall.
        tolerance_percent: "%" in 0.0..=50.0,
    }
}

impl NominalWall {
    /// The nominal wall.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn nominal_wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.required_wall_thickness_mm / self.share_left())
    }

    /// The least wall that an ordered wall leaves in the pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn installed_wall_thickness_mm(&self, ordered_mm: f64) -> Result<f64, Problems> {
        self.check()?;
        Ok(ordered_mm * self.share_left())
    }

    fn share_left(&self) -> f64 {
        let stretch = (self.installed_diameter_mm / self.made_diameter_mm).max(1.0);
        (1.0 - self.tolerance_percent / 100.0) / stretch
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "nominal-wall",
        title: "nominal wall of a tube that is stretched and has a lower tolerance",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "nominal_wall_thickness_mm",
            unit: "mm",
        }],
        source: "constant volume and the definition of a tolerance; Najafi 2010, p. 85",
        run: |values| {
            let tube = Self::from_values(values)?;
            Ok(vec![Some(tube.nominal_wall_thickness_mm()?)])
        },
    };
}
