//! Long-term modulus of a liner from its initial one.

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};

/// Retention above which a long-term test is asked for (Najafi, Trenchless Technology Piping,
/// 2010, pp. 86-87).
pub const RETENTION_FOR_TEST: f64 = 0.5;

inputs! {
    /// Flexural modulus after the design life.
    ///
    /// # Equation
    ///
    /// ```text
    /// E_L = E·retention
    /// ```
    ///
    /// Retention is what REMAINS: 60 percent retention is 40 percent loss. The German reduction
    /// factor A divides instead, E_L = E/A (from memory), so retention = 1/A.
    ///
    /// # Units
    ///
    /// MPa; retention is a ratio from 0.1 to 1.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. More than 0.5 asks for a test of 10 000 h by a
    /// third party.
    ///
    /// # Source
    ///
    /// Najafi, Trenchless Technology Piping, 2010, pp. 86-87.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 77: 250 000 psi become 125 000 psi); matches.
    /// use obvert_engineering::retention::LongTermModulus;
    /// use obvert_engineering::units::{mpa_from_psi, psi_from_mpa};
    /// let liner = LongTermModulus {
    ///     short_term_flexural_modulus_mpa: mpa_from_psi(250_000.0),
    ///     modulus_retention_factor: 0.5,
    /// };
    /// let modulus_psi = psi_from_mpa(liner.long_term_flexural_modulus_mpa()?);
    /// assert_eq!(format!("{modulus_psi:.0}"), "125000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct LongTermModulus {
        /// Initial flexural modulus of the liner.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Share of the modulus that remains after the design life.
        modulus_retention_factor: "-" in 0.1..=1.0,
    }
}

impl LongTermModulus {
    /// The modulus that remains.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn long_term_flexural_modulus_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.short_term_flexural_modulus_mpa * self.modulus_retention_factor)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "long-term-modulus",
        title: "flexural modulus after the design life",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "long_term_flexural_modulus_mpa",
            unit: "MPa",
        }],
        source: "Najafi 2010, pp. 86-87",
        run: |values| one(Self::from_values(values)?.long_term_flexural_modulus_mpa()),
    };
}
