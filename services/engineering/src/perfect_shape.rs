//! Buckling of a tight liner of any convex shape in a rigid host pipe, as a cross-check.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Critical external pressure of a tight liner of any convex shape, after Thépot.
    ///
    /// # Equation
    ///
    /// ```text
    /// p_cr = 2.02·k^0.4·E/(1 − ν²)·I^0.6·A^0.4/(p^0.4·R^1.8),   I = t³/12,   A = t
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; k is 1 for one lobe and 2 for two. Perfect shape only: the
    /// factors for gap and pre-deformation were not reachable.
    ///
    /// # Source
    ///
    /// Thépot, Trenchless Technology Research 15(1), 2000, equation from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: in a circle it is 1.0019 times Glock on R = D_m/2.
    /// use obvert_engineering::perfect_shape::PerfectShapeBuckling;
    /// let liner = PerfectShapeBuckling {
    ///     lobe_count: 1.0,
    ///     perimeter_mm: 300.0 * std::f64::consts::PI,
    ///     lobe_radius_mm: 150.0,
    ///     wall_thickness_mm: 6.0,
    ///     flexural_modulus_mpa: 1000.0,
    ///     poisson_ratio: 0.3,
    /// };
    /// assert_eq!(format!("{:.4}", liner.critical_pressure_mpa()? / 0.20101), "1.0019");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct PerfectShapeBuckling {
        /// Number of lobes k, 1 or 2.
        lobe_count: "-" in 1.0..=2.0,
        /// Perimeter of the liner.
        perimeter_mm: "mm" in 150.0..=20000.0,
        /// Radius of the liner where the lobe forms.
        lobe_radius_mm: "mm" in 25.0..=10000.0,
        /// Structural wall of the liner.
        wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Flexural modulus of the age to be judged.
        flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Poisson's ratio.
        poisson_ratio: "-" in 0.0..=0.49,
    }
}

impl PerfectShapeBuckling {
    /// The critical external pressure.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn critical_pressure_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        let inertia = self.wall_thickness_mm.powi(3) / 12.0;
        let section = inertia.powf(0.6) * self.wall_thickness_mm.powf(0.4);
        let shape = self.perimeter_mm.powf(0.4) * self.lobe_radius_mm.powf(1.8);
        let modulus = self.flexural_modulus_mpa / (1.0 - self.poisson_ratio.powi(2));
        Ok(2.02 * self.lobe_count.powf(0.4) * modulus * section / shape)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "perfect-shape-pressure",
        title: "critical external pressure of a tight liner of any convex shape",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "critical_pressure_mpa",
            unit: "MPa",
        }],
        source: "Thepot, Trenchless Technology Research 15(1), 2000, equation from memory",
        run: |values| one(Self::from_values(values)?.critical_pressure_mpa()),
    };
}
