//! Liner under internal pressure that carries the whole hoop (X1.7), as a fully deteriorated pipe
//! or a hole too large for [`crate::pressure_pipe`] asks for.
//!
//! FROM MEMORY of ASTM F1216 Appendix X1. The strength is the TENSILE one.

use crate::field::{Problems, inputs, thin_wall};
use crate::registry::{Formula, Output, one};

inputs! {
    /// Internal pressure that a liner may bear on its own, as a ring in tension.
    ///
    /// # Equation
    ///
    /// ```text
    /// P = 2·σ_TL/((DR − 2)·N)
    /// ```
    ///
    /// # Units
    ///
    /// MPa; DR is a ratio.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`].
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.7, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 2·3000/(38·2) = 78.9474 psi.
    /// use obvert_engineering::ring_tension::RingTension;
    /// use obvert_engineering::units::{mpa_from_psi, psi_from_mpa};
    /// let liner = RingTension {
    ///     dimension_ratio: 40.0,
    ///     long_term_tensile_strength_mpa: mpa_from_psi(3000.0),
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.4}", psi_from_mpa(liner.internal_pressure_mpa()?)), "78.9474");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RingTension {
        /// D/t of the liner.
        dimension_ratio: "-" in 3.0..=500.0,
        /// TENSILE strength after the design life.
        long_term_tensile_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

inputs! {
    /// Wall that a liner needs to carry an internal pressure on its own; the inverse of
    /// [`RingTension`].
    ///
    /// # Equation
    ///
    /// ```text
    /// DR = 2 + 2·σ_TL/(P·N),   t = D/DR
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.7, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 3000 psi and 50 psi make DR 62; 620/62.
    /// use obvert_engineering::ring_tension::RingTensionWall;
    /// use obvert_engineering::units::mpa_from_psi;
    /// let liner = RingTensionWall {
    ///     host_diameter_mm: 620.0,
    ///     internal_pressure_mpa: mpa_from_psi(50.0),
    ///     long_term_tensile_strength_mpa: mpa_from_psi(3000.0),
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.3}", liner.wall_thickness_mm()?), "10.000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RingTensionWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Internal pressure to carry.
        internal_pressure_mpa: "MPa" in 0.001..=10.0,
        /// TENSILE strength after the design life.
        long_term_tensile_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl RingTension {
    /// The internal pressure that the ring may bear.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn internal_pressure_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        let divisor = (self.dimension_ratio - 2.0) * self.safety_factor;
        Ok(2.0 * self.long_term_tensile_strength_mpa / divisor)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "ring-tension",
        title: "internal pressure of a liner as a ring in tension (X1.7)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "internal_pressure_mpa",
            unit: "MPa",
        }],
        source: "ASTM F1216 Appendix X1, X1.7, from memory",
        run: |values| one(Self::from_values(values)?.internal_pressure_mpa()),
    };
}

impl RingTensionWall {
    /// The wall for the pressure.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        let demand = self.internal_pressure_mpa * self.safety_factor;
        let dimension_ratio = 2.0 + 2.0 * self.long_term_tensile_strength_mpa / demand;
        thin_wall(
            self.host_diameter_mm / dimension_ratio,
            self.host_diameter_mm,
        )
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "ring-tension-wall",
        title: "wall for an internal pressure as a ring in tension (X1.7)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "ASTM F1216 Appendix X1, X1.7, from memory",
        run: |values| one(Self::from_values(values)?.wall_thickness_mm()),
    };
}
