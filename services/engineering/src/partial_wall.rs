//! The gravity design in a partially deteriorated pipe as one formula: X1.1 and X1.2 together.

use crate::bending::OvalBending;
use crate::buckling::RestrainedBuckling;
use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output};

inputs! {
    /// Wall of a gravity liner in a partially deteriorated pipe: groundwater alone.
    ///
    /// # Equation
    ///
    /// ```text
    /// t = max(X1.1, X1.2)
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa; the pressure comes from the head above the INVERT.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. A round pipe has no X1.2.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, pp. 82-83.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (p. 83: 0.88 in, 22.3 mm, by X1.1); matches.
    /// use obvert_engineering::partial_wall::PartialWall;
    /// use obvert_engineering::units::mpa_from_psi;
    /// let liner = PartialWall {
    ///     host_diameter_mm: 1219.2,
    ///     groundwater_pressure_mpa: mpa_from_psi(5.20),
    ///     enhancement_factor: 7.0,
    ///     long_term_flexural_modulus_mpa: mpa_from_psi(125_000.0),
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     poisson_ratio: 0.3,
    ///     ovality_percent: 2.0,
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.1}", liner.required_wall_thickness_mm()?), "22.3");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct PartialWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Groundwater pressure at the invert.
        groundwater_pressure_mpa: "MPa" in 0.000001..=2.0,
        /// Enhancement factor K; 7 with full support of the host pipe.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Flexural modulus after the design life, for X1.1.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural strength after the design life, for X1.2.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Poisson's ratio of the liner.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl PartialWall {
    /// Wall by X1.1.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn restrained_buckling_wall_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        RestrainedBuckling {
            host_diameter_mm: self.host_diameter_mm,
            groundwater_pressure_mpa: self.groundwater_pressure_mpa,
            enhancement_factor: self.enhancement_factor,
            long_term_flexural_modulus_mpa: self.long_term_flexural_modulus_mpa,
            poisson_ratio: self.poisson_ratio,
            ovality_percent: self.ovality_percent,
            safety_factor: self.safety_factor,
        }
        .wall_thickness_mm()
    }

    /// Wall by X1.2, or `None` in a round pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn oval_bending_wall_mm(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        OvalBending {
            host_diameter_mm: self.host_diameter_mm,
            groundwater_pressure_mpa: self.groundwater_pressure_mpa,
            long_term_flexural_strength_mpa: self.long_term_flexural_strength_mpa,
            ovality_percent: self.ovality_percent,
            safety_factor: self.safety_factor,
        }
        .wall_thickness_mm()
    }

    /// The thicker of the two.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or a wall that is no thin ring.
    pub fn required_wall_thickness_mm(&self) -> Result<f64, Problems> {
        let buckling_mm = self.restrained_buckling_wall_mm()?;
        let bending_mm = self.oval_bending_wall_mm()?;
        Ok(bending_mm.map_or(buckling_mm, |bending_mm| bending_mm.max(buckling_mm)))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "partial-wall",
        title: "wall of a gravity liner, partially deteriorated, X1.1 and X1.2 together",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            Output {
                name: "required_wall_thickness_mm",
                unit: "mm",
            },
            Output {
                name: "restrained_buckling_wall_mm",
                unit: "mm",
            },
            Output {
                name: "oval_bending_wall_mm",
                unit: "mm",
            },
        ],
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, pp. 82-83",
        run: |values| {
            let liner = Self::from_values(values)?;
            Ok(vec![
                Some(liner.required_wall_thickness_mm()?),
                Some(liner.restrained_buckling_wall_mm()?),
                liner.oval_bending_wall_mm()?,
            ])
        },
    };
}
