//! X1.6 solved for the wall over a hole of the host pipe. FROM MEMORY, as [`crate::pressure_pipe`]
//! says.

use crate::field::{Problems, inputs, thin_wall};
use crate::pressure_pipe::HoleLimit;
use crate::registry::{Formula, Output};

inputs! {
    /// Wall of a liner that spans a hole of its host pipe like a plate.
    ///
    /// # Equation
    ///
    /// ```text
    /// DR = 1 + (D/d)·√(5.33·σ_L/(P·N)), t = D/DR,  where d/D ≤ 1.83·(t/D)^½
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`], and t < D/2. `None` where the hole is too large for a
    /// plate: take the ring in tension. The limit of the hole is stated for DR 3 to 500; a thinner
    /// wall is held to DR 500.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, equations X1.5 and X1.6, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 1135.38 psi over a hole of 1 in in 12 in make DR 40; 7.62.
    /// use obvert_engineering::hole_wall::HoleWall;
    /// use obvert_engineering::units::mpa_from_psi;
    /// let liner = HoleWall {
    ///     host_diameter_mm: 304.8,
    ///     hole_diameter_mm: 25.4,
    ///     internal_pressure_mpa: mpa_from_psi(1135.38),
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     safety_factor: 2.0,
    /// };
    /// assert_eq!(format!("{:.2}", liner.wall_thickness_mm()?.unwrap_or(0.0)), "7.62");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct HoleWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Diameter of the hole in the host pipe.
        hole_diameter_mm: "mm" in 0.1..=2000.0,
        /// Internal pressure to carry.
        internal_pressure_mpa: "MPa" in 0.001..=10.0,
        /// Flexural strength after the design life.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Factor of safety N.
        safety_factor: "-" in 1.0..=10.0,
    }
}

impl HoleWall {
    /// Wall as a plate over the hole, or `None` where the hole is too large for a plate.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, or the wall when it is no thin ring.
    pub fn wall_thickness_mm(&self) -> Result<Option<f64>, Problems> {
        self.check()?;
        let demand = self.internal_pressure_mpa * self.safety_factor;
        let root = (5.33 * self.long_term_flexural_strength_mpa / demand).sqrt();
        let dimension_ratio = 1.0 + self.host_diameter_mm / self.hole_diameter_mm * root;
        let [limits] = HoleLimit::INPUTS else {
            return Ok(None);
        };
        // A hole that is next to nothing makes a wall next to nothing: any wall spans it.
        let ratio = dimension_ratio.min(limits.max);
        if ratio < limits.min {
            return Ok(None);
        }
        let largest = HoleLimit {
            dimension_ratio: ratio,
        }
        .hole_ratio()?;
        if self.hole_diameter_mm / self.host_diameter_mm > largest {
            return Ok(None);
        }
        let wall_mm = self.host_diameter_mm / dimension_ratio;
        thin_wall(wall_mm, self.host_diameter_mm).map(Some)
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "hole-bending-wall",
        title: "X1.6: wall of a pressure liner over a hole in the host pipe",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "wall_thickness_mm",
            unit: "mm",
        }],
        source: "ASTM F1216 Appendix X1, X1.5 and X1.6, from memory",
        run: |values| Ok(vec![Self::from_values(values)?.wall_thickness_mm()?]),
    };
}
