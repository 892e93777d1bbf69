//! Bending of a liner in an oval host pipe under groundwater (X1.2).
//!
//! | symbol | meaning | field |
//! | --- | --- | --- |
//! | δ | ovality as a fraction, q/100 | `ovality_percent` |
//! | DR | D/t | `host_diameter_mm`, `wall_thickness_mm` |
//! | P, N | groundwater pressure above the invert, factor of safety | same words |
//! | σ_L | LONG-TERM flexural strength | `long_term_flexural_strength_mpa` |
//!
//! A round pipe has no such bending: at zero ovality the answer is `None`.
//! Najafi 2010, p. 80 puts the short-term strength of 4 500 psi for σ_L; F1216 means the
//! long-term one (from memory), and the difference is large: 0.376 in becomes 0.517 in.

use crate::field::{Problems, inputs, thin_wall};
use crate::registry::{Formula, Output};

inputs! {
    /// Wall that a liner needs against bending in an oval host pipe.
    ///
    /// # Equation
    ///
    /// ```text
    /// 1.5·δ·(1 + δ)·DR² − 0.5·(1 + δ)·DR = σ_L/(P·N)
    /// DR = [0.5·(1 + δ) + √(0.25·(1 + δ)² + 6·δ·(1 + δ)·σ_L/(P·N))] / (3·δ·(1 + δ))
    /// t = D/DR
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa; any consistent units give the same ratio t/D.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. Zero ovality is taken and answers `None`.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.2, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, pp. 80, 83; solved for DR by the quadratic formula.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 80: 0.376 in, with a strength of 4 500 psi); matches.
    /// use obvert_engineering::bending::OvalBending;
    /// use obvert_engineering::units::{in_from_mm, mm_from_in, mpa_from_psi};
    /// let liner = OvalBending {
    ///     host_diameter_mm: mm_from_in(48.0),
    ///     groundwater_pressure_mpa: mpa_from_psi(5.20),
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     ovality_percent: 2.0,
    ///     safety_factor: 2.0,
    /// };
    /// let wall_in = liner.wall_thickness_mm()?.map(in_from_mm);
    /// assert_eq!(format!("{:.3}", wall_in.unwrap_or(0.0)), "0.376");
    /// assert_eq!(OvalBending { ovality_percent: 0.0, ..liner }.wall_thickness_mm()?, None);
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct OvalBending {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Groundwater pressure at the invert.
        groundwater_pressure_mpa: "MPa" in 0.000001..=2.0,
        /// Flexural strength after the design life, not the initial one.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

inputs! {
    /// Groundwater pressure that a wall may bear in bending; the inverse of [`OvalBending`].
    ///
    /// # Equation
    ///
    /// ```text
    /// P = σ_L / (N·[1.5·δ·(1 + δ)·DR² − 0.5·(1 + δ)·DR])
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. `None` where the bracket is not positive:
    /// the pipe is round, or so nearly round (3·δ·DR ≤ 1) that the wall is never in tension.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equation X1.2, as applied in Najafi, Trenchless Technology
    /// Piping, 2010, pp. 80, 83.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: DR 50 and 2 percent make 76.5 − 25.5 = 51; 51/(2·51).
    /// use obvert_engineering::bending::OvalBendingPressure;
    /// let liner = OvalBendingPressure {
    ///     host_diameter_mm: 300.0,
    ///     wall_thickness_mm: 6.0,
    ///     long_term_flexural_strength_mpa: 51.0,
    ///     ovality_percent: 2.0,
    ///     safety_factor: 2.0,
    /// };
    /// let pressure_mpa = liner.groundwater_pressure_mpa()?.unwrap_or(0.0);
    /// assert_eq!(format!("{pressure_mpa:.6}"), "0.500000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct OvalBendingPressure {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Structural wall of the liner, without films and wear layer.
        wall_thickness_mm: "mm" in 0.01..=500.0,
        /// Flexural strength after the design life.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl OvalBending {
    /// The wall that the check asks for, or `None` when the host pipe is round.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        if self.ovality_percent == 0.0 {
            return Ok(None);
        }
        let delta = self.ovality_percent / 100.0;
        let demand = self.groundwater_pressure_mpa * self.safety_factor;
        let strength_ratio = self.long_term_flexural_strength_mpa / demand;
        let inner = 0.25 * (1.0 + delta).powi(2) + 6.0 * delta * (1.0 + delta) * strength_ratio;
        let dimension_ratio = (0.5 * (1.0 + delta) + inner.sqrt()) / (3.0 * delta * (1.0 + delta));
        thin_wall(
            self.host_diameter_mm / dimension_ratio,
            self.host_diameter_mm,
        )
        .map(Some)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "oval-bending-wall",
        title: "wall against bending in an oval host pipe (X1.2)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "ASTM F1216 Appendix X1, X1.2, as applied in Najafi 2010, pp. 80, 83",
        run: |values| Ok(vec![Self::from_values(values)?.wall_thickness_mm()?]),
    };
}

impl OvalBendingPressure {
    /// The groundwater pressure that the wall may bear, or `None` when bending sets no limit.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn groundwater_pressure_mpa(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        thin_wall(self.wall_thickness_mm, self.host_diameter_mm)?;
        let delta = self.ovality_percent / 100.0;
        let dimension_ratio = self.host_diameter_mm / self.wall_thickness_mm;
        let quadratic = 1.5 * delta * (1.0 + delta) * dimension_ratio.powi(2);
        let bracket = quadratic - 0.5 * (1.0 + delta) * dimension_ratio;
        let pressure = self.long_term_flexural_strength_mpa / (self.safety_factor * bracket);
        Ok((bracket > 0.0).then_some(pressure))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "oval-bending-pressure",
        title: "groundwater pressure that a wall may bear in bending (X1.2)",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "groundwater_pressure_mpa",
            unit: "MPa",
        }],
        source: "ASTM F1216 Appendix X1, X1.2, as applied in Najafi 2010, pp. 80, 83",
        run: |values| Ok(vec![Self::from_values(values)?.groundwater_pressure_mpa()?]),
    };
}
