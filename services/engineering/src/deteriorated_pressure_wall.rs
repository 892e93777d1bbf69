//! Wall of a pressure liner in a fully deteriorated pipe: the ring in tension for the full pipe,
//! and all gravity checks for the empty one.
//!
//! X1.7 is FROM MEMORY of ASTM F1216 Appendix X1, as [`crate::ring_tension`] says; the rest is that
//! of [`crate::gravity_wall`].

use crate::field::{Problems, inputs};
use crate::gravity_wall::GravityWall;
use crate::registry::{Formula, Output, Results};
use crate::ring_tension::RingTensionWall;
use crate::section_demand::ConstantsPath;
use crate::soil_buckling::OvalityPlace;
use crate::wall_design::{WallCheck, WallOutcome};

inputs! {
    /// Wall of a pressure liner in a fully deteriorated pipe, at one section.
    ///
    /// # Equation
    ///
    /// ```text
    /// full    t = D/(2 + 2·σ_TL/(P_i·N))      the host carries no hoop, so no plate over a hole
    /// empty   t = max(X1.1, X1.2, X1.3, X1.4)  with groundwater, soil and traffic outside
    /// t = max(full, empty)
    /// ```
    ///
    /// # Units
    ///
    /// mm, m, MPa, kN/m³. The US entry converts, uses the US constants, and converts back.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; the long-term modulus must not exceed the initial one, and
    /// t < D/2 for each wall.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1: X1.1 to X1.4 as applied in Najafi, Trenchless Technology Piping,
    /// 2010, pp. 75-80; X1.7 and that the empty pipe is checked too, from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // The empty pipe is the worked example of Najafi (1.01 in = 25.61 mm). The full one is our
    /// // own, checked by hand: DR = 2 + 2·20/(0.5·2) = 42, 1219.2/42 = 29.03.
    /// use obvert_engineering::deteriorated_pressure_wall::DeterioratedPressureWall;
    /// use obvert_engineering::section_demand::ConstantsPath;
    /// use obvert_engineering::units::{kn_per_m3_from_pcf, m_from_ft, mpa_from_psi};
    /// let wall = DeterioratedPressureWall {
    ///     host_diameter_mm: 1219.2,
    ///     ovality_percent: 2.0,
    ///     enhancement_factor: 7.0,
    ///     short_term_flexural_modulus_mpa: mpa_from_psi(250_000.0),
    ///     long_term_flexural_modulus_mpa: mpa_from_psi(125_000.0),
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     long_term_tensile_strength_mpa: 20.0,
    ///     poisson_ratio: 0.3,
    ///     safety_factor: 2.0,
    ///     soil_unit_weight_kn_per_m3: kn_per_m3_from_pcf(120.0),
    ///     soil_modulus_mpa: mpa_from_psi(1000.0),
    ///     cover_m: m_from_ft(16.0),
    ///     groundwater_above_crown_m: m_from_ft(8.0),
    ///     live_load_mpa: mpa_from_psi(0.35),
    ///     internal_pressure_mpa: 0.5,
    /// };
    /// let empty = wall.empty_pipe(ConstantsPath::Us)?.required_wall_thickness_mm();
    /// assert_eq!(format!("{:.2}", empty.unwrap_or(0.0)), "25.61");
    /// assert_eq!(format!("{:.2}", wall.ring_wall_mm()?), "29.03");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct DeterioratedPressureWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Enhancement factor K.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Initial flexural modulus, for X1.4.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural modulus after the design life, for X1.1 and X1.3.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural strength after the design life, for X1.2.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// TENSILE strength after the design life, for X1.7.
        long_term_tensile_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Poisson's ratio of the liner.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Factor of safety N, of the full and of the empty pipe.
        safety_factor: "-" in 1.0..=10.0,
        /// Unit weight of the soil.
        soil_unit_weight_kn_per_m3: "kN/m³" in 9.5..=29.6,
        /// Modulus of soil reaction E′_s.
        soil_modulus_mpa: "MPa" in 0.1..=70.0,
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=60.0,
        /// Groundwater above the crown; 0 for water that stands at the crown.
        groundwater_above_crown_m: "m" in 0.0..=60.0,
        /// Live load at the crown, by whatever method.
        live_load_mpa: "MPa" in 0.0..=1.0,
        /// Internal pressure to carry.
        internal_pressure_mpa: "MPa" in 0.001..=10.0,
    }
}

impl DeterioratedPressureWall {
    /// Wall of the full pipe, a ring in tension.
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

    /// All gravity checks on the empty pipe, C inside the root of X1.3.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, a long-term modulus above the initial one, or a wall that is
    /// no thin ring.
    pub fn empty_pipe(&self, constants: ConstantsPath) -> Result<WallOutcome, Problems> {
        self.check()?;
        GravityWall {
            host_diameter_mm: self.host_diameter_mm,
            ovality_percent: self.ovality_percent,
            enhancement_factor: self.enhancement_factor,
            short_term_flexural_modulus_mpa: self.short_term_flexural_modulus_mpa,
            long_term_flexural_modulus_mpa: self.long_term_flexural_modulus_mpa,
            long_term_flexural_strength_mpa: self.long_term_flexural_strength_mpa,
            poisson_ratio: self.poisson_ratio,
            safety_factor: self.safety_factor,
            soil_unit_weight_kn_per_m3: self.soil_unit_weight_kn_per_m3,
            soil_modulus_mpa: self.soil_modulus_mpa,
            cover_m: self.cover_m,
            groundwater_above_crown_m: self.groundwater_above_crown_m,
            live_load_mpa: self.live_load_mpa,
        }
        .evaluate(constants, OvalityPlace::InsideRoot)
    }

    /// Entry for the list of formulas: SI constants.
    pub const FORMULA: Formula = Formula {
        name: "pressure-wall-deteriorated-si",
        title: "wall of a pressure liner, fully deteriorated: ring, and the empty pipe, SI constants",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            wall("required_wall_thickness_mm"),
            wall("ring_wall_mm"),
            wall("empty_pipe_wall_mm"),
            wall("restrained_buckling_wall_mm"),
            wall("oval_bending_wall_mm"),
            wall("soil_buckling_wall_mm"),
            wall("minimum_stiffness_wall_mm"),
        ],
        source: "ASTM F1216 Appendix X1, X1.1 to X1.4 as applied in Najafi 2010, X1.7 and SI from \
                 memory",
        run: |values| run(values, ConstantsPath::Si),
    };

    /// Entry for the list of formulas: US constants.
    pub const FORMULA_US: Formula = Formula {
        name: "pressure-wall-deteriorated-us",
        title: "wall of a pressure liner, fully deteriorated: ring, and the empty pipe, US constants",
        source: "ASTM F1216 Appendix X1, X1.1 to X1.4 as applied in Najafi 2010, X1.7 from memory",
        run: |values| run(values, ConstantsPath::Us),
        ..Self::FORMULA
    };
}

const fn wall(name: &'static str) -> Output {
    Output { name, unit: "mm" }
}

fn run(values: &[f64], constants: ConstantsPath) -> Results {
    let liner = DeterioratedPressureWall::from_values(values)?;
    let ring_mm = liner.ring_wall_mm()?;
    let outcome = liner.empty_pipe(constants)?;
    let empty_mm = outcome.required_wall_thickness_mm();
    let of = |check: WallCheck| {
        let found = outcome.checks.iter().find(|one| one.check == check);
        found.and_then(|one| one.wall_thickness_mm)
    };
    Ok(vec![
        Some(ring_mm.max(empty_mm.unwrap_or(ring_mm))),
        Some(ring_mm),
        empty_mm,
        of(WallCheck::RestrainedBuckling),
        of(WallCheck::OvalBending),
        of(WallCheck::SoilBuckling),
        of(WallCheck::MinimumStiffness),
    ])
}
