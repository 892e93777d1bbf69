//! Liner under internal pressure that spans a hole of the host pipe (X1.5, X1.6).
//!
//! A liner that carries the whole hoop is in [`crate::ring_tension`].
//!
//! FROM MEMORY of ASTM F1216 Appendix X1, X1.5 to X1.7: no published numbers were found, so the
//! equations were checked for dimensions and limits only. The external checks X1.1 and, for a
//! fully deteriorated pipe, X1.3 apply as well.
//! At the limit of the hole size the two answers do not meet: one takes flexural strength, the
//! other tensile strength. The jump belongs to the method.

use crate::field::{OutOfRange, Problems, inputs};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Largest hole, as a share of the diameter, over which a liner bends like a plate.
    ///
    /// # Equation
    ///
    /// ```text
    /// d/D ≤ 1.83·(t/D)^½
    /// ```
    ///
    /// # Units
    ///
    /// Ratios.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. A larger hole asks for a
    /// [`crate::ring_tension::RingTension`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.5, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 1.83/√40.
    /// use obvert_engineering::pressure_pipe::HoleLimit;
    /// let limit = HoleLimit { dimension_ratio: 40.0 };
    /// assert_eq!(format!("{:.5}", limit.hole_ratio()?), "0.28935");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct HoleLimit {
        /// D/t of the liner.
        dimension_ratio: "-" in 3.0..=500.0,
    }
}

inputs! {
    /// Internal pressure that a liner may bear over a hole of the host pipe.
    ///
    /// # Equation
    ///
    /// ```text
    /// P = 5.33/(DR − 1)²·(D/d)²·σ_L/N
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; the hole must not exceed [`HoleLimit`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.6, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 5.33/39²·12²·4500/2 = 1135.38 psi.
    /// use obvert_engineering::pressure_pipe::HoleBending;
    /// use obvert_engineering::units::{mpa_from_psi, psi_from_mpa};
    /// let liner = HoleBending {
    ///     host_diameter_mm: 304.8,
    ///     wall_thickness_mm: 7.62,
    ///     hole_diameter_mm: 25.4,
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.2}", psi_from_mpa(liner.internal_pressure_mpa()?)), "1135.38");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct HoleBending {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Structural wall of the liner.
        wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Diameter of the hole in the host pipe.
        hole_diameter_mm: "mm" in 0.1..=2000.0,
        /// Flexural strength after the design life.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl HoleLimit {
    /// The largest d/D.
    ///
    /// # Errors
    ///
    /// Returns the ratio when it is out of range.
    pub fn hole_ratio(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(1.83 / self.dimension_ratio.sqrt())
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "hole-limit",
        title: "largest hole over which a liner bends like a plate (X1.5)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "hole_ratio",
            unit: "-",
        }],
        source: "ASTM F1216 Appendix X1, X1.5, from memory",
        run: |values| one(Self::from_values(values)?.hole_ratio()),
    };
}

impl HoleBending {
    /// The internal pressure over the hole.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the hole when it is too large for a plate.
    pub fn internal_pressure_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        let dimension_ratio = self.host_diameter_mm / self.wall_thickness_mm;
        let largest_mm = HoleLimit { dimension_ratio }.hole_ratio()? * self.host_diameter_mm;
        if self.hole_diameter_mm > largest_mm {
            return Err(OutOfRange {
                field: "hole_diameter_mm".to_owned(),
                value: self.hole_diameter_mm,
                min: 0.1,
                max: largest_mm,
                unit: "mm",
                remedy: "The hole is too large for a plate: use the ring in tension.".to_owned(),
            }
            .into());
        }
        let span = self.host_diameter_mm / self.hole_diameter_mm / (dimension_ratio - 1.0);
        Ok(5.33 * span.powi(2) * self.long_term_flexural_strength_mpa / self.safety_factor)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "hole-bending",
        title: "internal pressure over a hole of the host pipe (X1.6)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "internal_pressure_mpa",
            unit: "MPa",
        }],
        source: "ASTM F1216 Appendix X1, X1.6, from memory",
        run: |values| one(Self::from_values(values)?.internal_pressure_mpa()),
    };
}
