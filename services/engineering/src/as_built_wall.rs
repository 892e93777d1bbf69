//! What an installed liner can bear at one section, as one formula; several sections at once are in
//! [`crate::back_check`].

use crate::back_check::{AchievedSafety, AsBuilt};
use crate::field::{Problems, inputs};
use crate::gravity_wall::GravityWall;
use crate::registry::{Formula, Output, Results};
use crate::section_demand::ConstantsPath;
use crate::soil_buckling::OvalityPlace;
use crate::wall_design::WallCheck;

inputs! {
    /// Factors of safety that an installed liner reaches in a fully deteriorated pipe.
    ///
    /// # Equation
    ///
    /// ```text
    /// N_reached = capacity at N = 1, with measured wall and modulus / demand
    /// X1.1, X1.2: P;   X1.3: q_t;   X1.4: E·I/D³ over its limit, where 1 is enough
    /// ```
    ///
    /// # Units
    ///
    /// mm, m, MPa, kN/m³; results are ratios.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. Wall and moduli must be on one basis (composite,
    /// structural, or with films), which the numbers cannot show: say it in the record.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, solved for the factor of safety.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: the wall that X1.3 asks for reaches N = 2 in X1.3.
    /// use obvert_engineering::as_built_wall::AsBuiltWall;
    /// use obvert_engineering::back_check::AchievedSafety;
    /// use obvert_engineering::{section_demand::ConstantsPath, wall_design::WallCheck};
    /// let liner = AsBuiltWall {
    ///     host_diameter_mm: 200.0,
    ///     ovality_percent: 2.0,
    ///     enhancement_factor: 7.0,
    ///     poisson_ratio: 0.3,
    ///     soil_unit_weight_kn_per_m3: 18.85,
    ///     soil_modulus_mpa: 5.0,
    ///     cover_m: 3.0,
    ///     groundwater_above_crown_m: 3.0,
    ///     live_load_mpa: 0.0,
    ///     measured_wall_thickness_mm: 2.8914,
    ///     measured_modulus_mpa: 5000.0,
    ///     long_term_flexural_modulus_mpa: 2500.0,
    ///     long_term_flexural_strength_mpa: 40.0,
    /// };
    /// let reached = liner.reached(ConstantsPath::Si)?;
    /// let soil = reached.iter().find(|one| one.check == WallCheck::SoilBuckling);
    /// let ratio = soil.map_or(0.0, |one: &AchievedSafety| one.achieved_safety_factor);
    /// assert_eq!(format!("{ratio:.3}"), "2.000");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct AsBuiltWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Enhancement factor K of the design.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Poisson's ratio of the liner.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Unit weight of the soil.
        soil_unit_weight_kn_per_m3: "kN/m³" in 9.5..=29.6,
        /// Modulus of soil reaction E′_s.
        soil_modulus_mpa: "MPa" in 0.1..=70.0,
        /// Soil cover above the crown.
        cover_m: "m" in 0.0..=60.0,
        /// Groundwater above the crown.
        groundwater_above_crown_m: "m" in 0.0..=60.0,
        /// Live load at the crown.
        live_load_mpa: "MPa" in 0.0..=1.0,
        /// Mean wall as measured, on the basis of the moduli.
        measured_wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Flexural modulus as tested.
        measured_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Tested modulus times the retention of the design.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Tested strength times the retention of the design.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
    }
}

impl AsBuiltWall {
    /// What each check reaches; a check that sets no limit is left out.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, a long-term modulus above the tested one, or the wall when
    /// it is no thin ring.
    pub fn reached(&self, constants: ConstantsPath) -> Result<Vec<AchievedSafety>, Problems> {
        self.check()?;
        let design = GravityWall {
            host_diameter_mm: self.host_diameter_mm,
            ovality_percent: self.ovality_percent,
            enhancement_factor: self.enhancement_factor,
            short_term_flexural_modulus_mpa: self.measured_modulus_mpa,
            long_term_flexural_modulus_mpa: self.long_term_flexural_modulus_mpa,
            long_term_flexural_strength_mpa: self.long_term_flexural_strength_mpa,
            poisson_ratio: self.poisson_ratio,
            safety_factor: 1.0,
            soil_unit_weight_kn_per_m3: self.soil_unit_weight_kn_per_m3,
            soil_modulus_mpa: self.soil_modulus_mpa,
            cover_m: self.cover_m,
            groundwater_above_crown_m: self.groundwater_above_crown_m,
            live_load_mpa: self.live_load_mpa,
        };
        AsBuilt {
            wall_thickness_mm: self.measured_wall_thickness_mm,
            short_term_flexural_modulus_mpa: self.measured_modulus_mpa,
            long_term_flexural_modulus_mpa: self.long_term_flexural_modulus_mpa,
            long_term_flexural_strength_mpa: self.long_term_flexural_strength_mpa,
        }
        .achieved(&design.design(constants, OvalityPlace::InsideRoot))
    }

    /// Entry for the list of formulas: SI constants.
    pub const FORMULA: Formula = Formula {
        name: "as-built-si",
        title: "factors of safety that an installed liner reaches, SI constants",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[
            ratio("restrained_buckling_safety"),
            ratio("oval_bending_safety"),
            ratio("soil_buckling_safety"),
            ratio("stiffness_over_limit"),
        ],
        source: "follows from ASTM F1216 Appendix X1 as applied in Najafi 2010; SI from memory",
        run: |values| run(values, ConstantsPath::Si),
    };

    /// Entry for the list of formulas: US constants.
    pub const FORMULA_US: Formula = Formula {
        name: "as-built-us",
        title: "factors of safety that an installed liner reaches, US constants",
        source: "follows from ASTM F1216 Appendix X1 as applied in Najafi 2010",
        run: |values| run(values, ConstantsPath::Us),
        ..Self::FORMULA
    };
}

const fn ratio(name: &'static str) -> Output {
    Output { name, unit: "-" }
}

fn run(values: &[f64], constants: ConstantsPath) -> Results {
    let reached = AsBuiltWall::from_values(values)?.reached(constants)?;
    let of = |check: WallCheck| {
        let found = reached.iter().find(|one| one.check == check);
        found.map(|one| one.achieved_safety_factor)
    };
    Ok(vec![
        of(WallCheck::RestrainedBuckling),
        of(WallCheck::OvalBending),
        of(WallCheck::SoilBuckling),
        of(WallCheck::MinimumStiffness),
    ])
}
