//! Wall of a liner under internal pressure: X1.5 to X1.7 for the full pipe, X1.1 for the empty one.
//!
//! FROM MEMORY of ASTM F1216 Appendix X1, as [`crate::pressure_pipe`] says. A pressure pipe stands
//! empty at times, so the external checks ask for a wall as well. A fully deteriorated pipe has
//! [`crate::deteriorated_pressure_wall`].

use crate::buckling::RestrainedBuckling;
use crate::field::{Problems, inputs};
use crate::hole_wall::HoleWall;
use crate::registry::{Formula, Output};
use crate::ring_tension::RingTensionWall;

inputs! {
    /// Wall of a liner in a partially deteriorated pressure pipe with a hole.
    ///
    /// # Equation
    ///
    /// ```text
    /// plate   DR = 1 + (D/d)·√(5.33·σ_L/(P·N)),  where d/D ≤ 1.83·(t/D)^½
    /// ring    DR = 2 + 2·σ_TL/(P·N),             for a larger hole
    /// empty   X1.1 at the groundwater pressure
    /// t = max(plate or ring, empty)
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2 for each wall.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equations X1.1 and X1.5 to X1.7; the pressure ones from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 1135.38 psi over a hole of 1 in in 12 in make DR 40; 7.62.
    /// use obvert_engineering::pressure_wall::PressureWall;
    /// use obvert_engineering::units::mpa_from_psi;
    /// let liner = PressureWall {
    ///     host_diameter_mm: 304.8,
    ///     hole_diameter_mm: 25.4,
    ///     internal_pressure_mpa: mpa_from_psi(1135.38),
    ///     groundwater_pressure_mpa: 0.05,
    ///     enhancement_factor: 7.0,
    ///     long_term_flexural_modulus_mpa: 5000.0,
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     long_term_tensile_strength_mpa: mpa_from_psi(3000.0),
    ///     poisson_ratio: 0.3,
    ///     ovality_percent: 2.0,
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.2}", liner.plate_wall_mm()?.unwrap_or(0.0)), "7.62");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct PressureWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Diameter of the hole in the host pipe.
        hole_diameter_mm: "mm" in 0.1..=2000.0,
        /// Internal pressure to carry.
        internal_pressure_mpa: "MPa" in 0.001..=10.0,
        /// Groundwater pressure at the invert, on the empty pipe.
        groundwater_pressure_mpa: "MPa" in 0.000001..=2.0,
        /// Enhancement factor K.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Flexural modulus after the design life.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural strength after the design life.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// TENSILE strength after the design life.
        long_term_tensile_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Poisson's ratio.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl PressureWall {
    /// Wall as a plate over the hole, or `None` where the hole is too large for a plate.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn plate_wall_mm(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        HoleWall {
            host_diameter_mm: self.host_diameter_mm,
            hole_diameter_mm: self.hole_diameter_mm,
            internal_pressure_mpa: self.internal_pressure_mpa,
            long_term_flexural_strength_mpa: self.long_term_flexural_strength_mpa,
            safety_factor: self.safety_factor,
        }
        .wall_thickness_mm()
    }

    /// Wall as a ring in tension, which carries any hole.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn ring_wall_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        RingTensionWall {
            host_diameter_mm: self.host_diameter_mm,
            internal_pressure_mpa: self.internal_pressure_mpa,
            long_term_tensile_strength_mpa: self.long_term_tensile_strength_mpa,
            safety_factor: self.safety_factor,
        }
        .wall_thickness_mm()
    }

    /// Wall of the empty pipe under groundwater, by X1.1.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn empty_pipe_wall_mm(&self) -> Result<f64, Problems> {
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

    /// The thicker of the wall for the full and that for the empty pipe.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or a wall that is no thin ring.
    pub fn required_wall_thickness_mm(&self) -> Result<f64, Problems> {
        let full_mm = match self.plate_wall_mm()? {
            Some(plate_mm) => plate_mm,
            None => self.ring_wall_mm()?,
        };
        Ok(full_mm.max(self.empty_pipe_wall_mm()?))
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "pressure-wall",
        title: "wall of a pressure liner: hole or ring for the full pipe, X1.1 for the empty one",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            wall("required_wall_thickness_mm"),
            wall("plate_wall_mm"),
            wall("ring_wall_mm"),
            wall("empty_pipe_wall_mm"),
        ],
        source: "ASTM F1216 Appendix X1, X1.1 and X1.5 to X1.7, the pressure ones from memory",
        run: |values| {
            let liner = Self::from_values(values)?;
            Ok(vec![
                Some(liner.required_wall_thickness_mm()?),
                liner.plate_wall_mm()?,
                Some(liner.ring_wall_mm()?),
                Some(liner.empty_pipe_wall_mm()?),
            ])
        },
    };
}

const fn wall(name: &'static str) -> Output {
    Output { name, unit: "mm" }
}
