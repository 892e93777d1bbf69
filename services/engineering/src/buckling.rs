//! Buckling of a liner under groundwater while the host pipe still holds its shape (X1.1).
//!
//! | symbol | meaning | field |
//! | --- | --- | --- |
//! | D | mean inside diameter of the host pipe | `host_diameter_mm` |
//! | t, DR | wall of the liner; D/t | `wall_thickness_mm` |
//! | P | groundwater pressure above the invert | `groundwater_pressure_mpa` |
//! | K | enhancement by soil and host pipe | `enhancement_factor` |
//! | E_L | LONG-TERM flexural modulus | `long_term_flexural_modulus_mpa` |
//! | ν, q, N | Poisson's ratio, ovality, factor of safety | same words |
//!
//! The power is of (DR − 1) here, of DR in the stiffness check, and of (DR − 2) in the hoop
//! equation. All three are right.

use crate::field::{Problems, inputs, thin_wall};
use crate::ovality::reduction_factor;
use crate::registry::{Formula, Output, one};

inputs! {
    /// Wall that a liner needs against groundwater when the host pipe carries the soil.
    ///
    /// # Equation
    ///
    /// ```text
    /// P = 2·K·E_L/(1 − ν²) · 1/(DR − 1)³ · C/N
    /// t = D / ( [2·K·E_L·C/(P·N·(1 − ν²))]^(1/3) + 1 )
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa; any consistent units give the same ratio t/D.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. Without groundwater above the invert the
    /// check does not apply, so a pressure of zero is refused.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.1, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, pp. 79-82.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 80: 48 in, 5.20 psi, listed as 0.878 in); matches.
    /// use obvert_engineering::buckling::RestrainedBuckling;
    /// use obvert_engineering::units::{in_from_mm, mm_from_in, mpa_from_psi};
    /// let liner = RestrainedBuckling {
    ///     host_diameter_mm: mm_from_in(48.0),
    ///     groundwater_pressure_mpa: mpa_from_psi(5.20),
    ///     enhancement_factor: 7.0,
    ///     long_term_flexural_modulus_mpa: mpa_from_psi(125_000.0),
    ///     poisson_ratio: 0.3,
    ///     ovality_percent: 2.0,
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.3}", in_from_mm(liner.wall_thickness_mm()?)), "0.878");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RestrainedBuckling {
        /// Mean inside diameter of the host pipe, which is the outside diameter of the liner.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Groundwater pressure at the invert.
        groundwater_pressure_mpa: "MPa" in 0.000001..=2.0,
        /// Enhancement factor K; 7 with full support of the host pipe.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Flexural modulus after the design life, not the initial one.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Poisson's ratio; 0.3 in the source.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

inputs! {
    /// Groundwater pressure that a liner of known wall may bear; the inverse of
    /// [`RestrainedBuckling`].
    ///
    /// # Equation
    ///
    /// ```text
    /// P = 2·K·E_L/(1 − ν²) · 1/(DR − 1)³ · C/N
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. With N = 1 the result is the capacity.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.1, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, pp. 79-82.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 2·7·1000/0.91/50³.
    /// use obvert_engineering::buckling::RestrainedBucklingPressure;
    /// let liner = RestrainedBucklingPressure {
    ///     host_diameter_mm: 306.0,
    ///     wall_thickness_mm: 6.0,
    ///     enhancement_factor: 7.0,
    ///     long_term_flexural_modulus_mpa: 1000.0,
    ///     poisson_ratio: 0.3,
    ///     ovality_percent: 0.0,
    ///     safety_factor: 1.0,
    /// };
    /// assert_eq!(format!("{:.5}", liner.groundwater_pressure_mpa()?), "0.12308");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct RestrainedBucklingPressure {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Structural wall of the liner, without films and wear layer.
        wall_thickness_mm: "mm" in 0.01..=500.0,
        /// Enhancement factor K.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Flexural modulus after the design life.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Poisson's ratio.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl RestrainedBuckling {
    /// The wall that the check asks for.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        let c = reduction_factor(self.ovality_percent);
        let plane = 1.0 - self.poisson_ratio.powi(2);
        let resistance = 2.0 * self.enhancement_factor * self.long_term_flexural_modulus_mpa * c;
        let demand = self.groundwater_pressure_mpa * self.safety_factor * plane;
        let dimension_ratio = (resistance / demand).cbrt() + 1.0;
        thin_wall(
            self.host_diameter_mm / dimension_ratio,
            self.host_diameter_mm,
        )
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "restrained-buckling-wall",
        title: "wall against groundwater, host pipe partially deteriorated (X1.1)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "ASTM F1216 Appendix X1, X1.1, as applied in Najafi 2010, pp. 79-82",
        run: |values| one(Self::from_values(values)?.wall_thickness_mm()),
    };
}

impl RestrainedBucklingPressure {
    /// The groundwater pressure that the wall may bear.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn groundwater_pressure_mpa(&self) -> Result<f64, Problems> {
        self.check()?;
        thin_wall(self.wall_thickness_mm, self.host_diameter_mm)?;
        let c = reduction_factor(self.ovality_percent);
        let plane = 1.0 - self.poisson_ratio.powi(2);
        let dimension_ratio = self.host_diameter_mm / self.wall_thickness_mm;
        let resistance = 2.0 * self.enhancement_factor * self.long_term_flexural_modulus_mpa;
        Ok(resistance / plane / (dimension_ratio - 1.0).powi(3) * c / self.safety_factor)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "restrained-buckling-pressure",
        title: "groundwater pressure that a wall may bear (X1.1)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "groundwater_pressure_mpa",
            unit: "MPa",
        }],
        source: "ASTM F1216 Appendix X1, X1.1, as applied in Najafi 2010, pp. 79-82",
        run: |values| one(Self::from_values(values)?.groundwater_pressure_mpa()),
    };
}
