//! Least stiffness of a liner, so that it can be handled and keeps its shape (X1.4).
//!
//! The check takes the SHORT-TERM modulus, and depends on neither load, soil nor ovality. It is
//! asked for the fully deteriorated case only.

use crate::field::{Problems, inputs, thin_wall};
use crate::registry::{Formula, Output, one};
use crate::units::MPA_PER_PSI;

/// Least E·I/D³ as the SI form prints it (from memory; 0.093 psi is 0.000641 MPa).
pub const STIFFNESS_LIMIT_SI_MPA: f64 = 0.000_64;

/// Least E·I/D³ of the US form, 0.093 psi (Najafi 2010, p. 77), as a number of MPa.
pub const STIFFNESS_LIMIT_US_MPA: f64 = 0.093 * MPA_PER_PSI;

inputs! {
    /// Wall that gives a liner the least stiffness.
    ///
    /// # Equation
    ///
    /// ```text
    /// E·I/D³ = E/(12·DR³) ≥ limit
    /// t = D·(12·limit/E)^(1/3)
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa. The limit is [`STIFFNESS_LIMIT_US_MPA`] or [`STIFFNESS_LIMIT_SI_MPA`].
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.4, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, p. 77.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 77: 48 in, 250 000 psi, 0.790 in); matches.
    /// use obvert_engineering::stiffness::{MinimumStiffness, STIFFNESS_LIMIT_US_MPA};
    /// use obvert_engineering::units::{in_from_mm, mm_from_in, mpa_from_psi};
    /// let liner = MinimumStiffness {
    ///     host_diameter_mm: mm_from_in(48.0),
    ///     short_term_flexural_modulus_mpa: mpa_from_psi(250_000.0),
    ///     stiffness_limit_mpa: STIFFNESS_LIMIT_US_MPA,
    /// };
    /// assert_eq!(format!("{:.3}", in_from_mm(liner.wall_thickness_mm()?)), "0.790");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct MinimumStiffness {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Initial flexural modulus of the liner.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Least E·I/D³.
        stiffness_limit_mpa: "MPa" in 0.0001..=0.1,
    }
}

inputs! {
    /// Stiffness of a liner of known wall; to be compared with the limit.
    ///
    /// # Equation
    ///
    /// ```text
    /// E·I/D³ = E/(12·DR³)
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
    /// ASTM F1216 Appendix X1, equation X1.4, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, p. 77.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 7680/(12·100³).
    /// use obvert_engineering::stiffness::RingStiffness;
    /// let liner = RingStiffness {
    ///     host_diameter_mm: 600.0,
    ///     wall_thickness_mm: 6.0,
    ///     short_term_flexural_modulus_mpa: 7680.0,
    /// };
    /// assert_eq!(format!("{:.5}", liner.ring_stiffness_mpa()?), "0.00064");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RingStiffness {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Structural wall of the liner, without films and wear layer.
        wall_thickness_mm: "mm" in 0.01..=500.0,
        /// Initial flexural modulus of the liner.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
    }
}

impl MinimumStiffness {
    /// The wall that the check asks for.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        let ratio = 12.0 * self.stiffness_limit_mpa / self.short_term_flexural_modulus_mpa;
        thin_wall(self.host_diameter_mm * ratio.cbrt(), self.host_diameter_mm)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "minimum-stiffness-wall",
        title: "wall for the least stiffness, fully deteriorated (X1.4)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "ASTM F1216 Appendix X1, X1.4, as applied in Najafi 2010, p. 77",
        run: |values| one(Self::from_values(values)?.wall_thickness_mm()),
    };
}

impl RingStiffness {
    /// E·I/D³ of the liner.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn ring_stiffness_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        thin_wall(self.wall_thickness_mm, self.host_diameter_mm)?;
        let ratio = self.wall_thickness_mm / self.host_diameter_mm;
        Ok(self.short_term_flexural_modulus_mpa * ratio.powi(3) / 12.0)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "ring-stiffness",
        title: "stiffness E·I/D³ of a wall (X1.4)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "ring_stiffness_mpa",
            unit: "MPa",
        }],
        source: "ASTM F1216 Appendix X1, X1.4, as applied in Najafi 2010, p. 77",
        run: |values| one(Self::from_values(values)?.ring_stiffness_mpa()),
    };
}
