//! The whole gravity design at one section as one formula: all checks, what governs, and the loads
//! behind them. Several sections at once are in [`crate::wall_design`].

use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, Results};
use crate::section_demand::{ConstantsPath, DesignSection};
use crate::soil_buckling::OvalityPlace;
use crate::wall_design::{
    CheckedWall, HostCondition, WallCheck, WallDesign, WallInputs, WallOutcome,
};

inputs! {
    /// Wall of a gravity liner in a fully deteriorated pipe, at one section.
    ///
    /// # Equation
    ///
    /// ```text
    /// t = max(X1.1, X1.2, X1.3, X1.4)
    /// P  from the head above the INVERT = head above the crown + D
    /// q_t, R_w, B′ from cover and the head above the CROWN
    /// ```
    ///
    /// # Units
    ///
    /// mm, m, MPa, kN/m³. The US entry converts, uses the US constants, and converts back.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]; the long-term modulus must not exceed the initial one, and
    /// t < D/2.
    ///
    /// # Source
    ///
    /// ASTM F1216 Appendix X1, as applied in Najafi, Trenchless Technology Piping, 2010, pp. 75-80.
    /// The SI constants are from memory.
    ///
    /// # Example
    ///
    /// ```
    /// // Worked example of the source (pp. 76-80: 48 in needs 1.01 in, governed by X1.3); matches.
    /// use obvert_engineering::gravity_wall::GravityWall;
    /// use obvert_engineering::units::{in_from_mm, kn_per_m3_from_pcf, m_from_ft, mpa_from_psi};
    /// use obvert_engineering::{section_demand::ConstantsPath, soil_buckling::OvalityPlace};
    /// let wall = GravityWall {
    ///     host_diameter_mm: 1219.2,
    ///     ovality_percent: 2.0,
    ///     enhancement_factor: 7.0,
    ///     short_term_flexural_modulus_mpa: mpa_from_psi(250_000.0),
    ///     long_term_flexural_modulus_mpa: mpa_from_psi(125_000.0),
    ///     long_term_flexural_strength_mpa: mpa_from_psi(4500.0),
    ///     poisson_ratio: 0.3,
    ///     safety_factor: 2.0,
    ///     soil_unit_weight_kn_per_m3: kn_per_m3_from_pcf(120.0),
    ///     soil_modulus_mpa: mpa_from_psi(1000.0),
    ///     cover_m: m_from_ft(16.0),
    ///     groundwater_above_crown_m: m_from_ft(8.0),
    ///     live_load_mpa: mpa_from_psi(0.35),
    /// };
    /// let outcome = wall.evaluate(ConstantsPath::Us, OvalityPlace::InsideRoot)?;
    /// let wall_in = in_from_mm(outcome.required_wall_thickness_mm().unwrap_or(0.0));
    /// assert_eq!(format!("{wall_in:.2}"), "1.01");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct GravityWall {
        /// Mean inside diameter of the host pipe.
        host_diameter_mm: "mm" in 50.0..=5000.0,
        /// Ovality of the host pipe, in percent.
        ovality_percent: "%" in 0.0..=10.0,
        /// Enhancement factor K; 7 with full support of the host pipe.
        enhancement_factor: "-" in 1.0..=30.0,
        /// Initial flexural modulus of the liner, for X1.4.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural modulus after the design life, for X1.1 and X1.3.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural strength after the design life, for X1.2.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
        /// Poisson's ratio of the liner.
        poisson_ratio: "-" in 0.0..=0.49,
        /// Factor of safety N.
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
    }
}

impl GravityWall {
    /// All checks at the section.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range, a long-term modulus above the initial one, or a wall that is
    /// no thin ring.
    pub fn evaluate(
        &self,
        constants: ConstantsPath,
        ovality_place: OvalityPlace,
    ) -> Result<WallOutcome, Problems> {
        self.check()?;
        self.design(constants, ovality_place).evaluate()
    }

    /// The design that these inputs make.
    pub(crate) fn design(
        &self,
        constants: ConstantsPath,
        ovality_place: OvalityPlace,
    ) -> WallDesign {
        WallDesign {
            constants,
            ovality_place,
            host_condition: HostCondition::FullyDeteriorated,
            inputs: WallInputs {
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
            },
            sections: vec![DesignSection {
                station_m: 0.0,
                cover_m: self.cover_m,
                groundwater_above_invert_m: self.groundwater_above_crown_m
                    + self.host_diameter_mm / 1000.0,
                live_load_mpa: self.live_load_mpa,
            }],
        }
    }

    /// Entry for the list of formulas: SI constants, C inside the root of X1.3.
    pub const FORMULA: Formula = Formula {
        name: "gravity-wall-si",
        title: "wall of a gravity liner, fully deteriorated, all checks at a section, SI constants",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: OUTPUTS,
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, pp. 75-80; SI from memory",
        run: |values| run(values, ConstantsPath::Si, OvalityPlace::InsideRoot),
    };

    /// Entry for the list of formulas: US constants, C inside the root of X1.3.
    pub const FORMULA_US: Formula = Formula {
        name: "gravity-wall-us",
        title: "wall of a gravity liner, fully deteriorated, all checks at a section, US constants",
        source: "ASTM F1216 Appendix X1 as applied in Najafi 2010, pp. 75-80",
        run: |values| run(values, ConstantsPath::Us, OvalityPlace::InsideRoot),
        ..Self::FORMULA
    };

    /// Entry for the list of formulas: US constants, C before the root of X1.3.
    pub const FORMULA_BEFORE_2007: Formula = Formula {
        name: "gravity-wall-before-2007",
        title: "wall of a gravity liner, fully deteriorated, editions until 2007, US constants",
        source: "ASTM F1216 Appendix X1 before F1216-07b, from memory",
        run: |values| run(values, ConstantsPath::Us, OvalityPlace::BeforeRoot),
        ..Self::FORMULA
    };
}

const fn output(name: &'static str, unit: &'static str) -> Output {
    Output { name, unit }
}

const OUTPUTS: &[Output] = &[
    output("required_wall_thickness_mm", "mm"),
    output("restrained_buckling_wall_mm", "mm"),
    output("oval_bending_wall_mm", "mm"),
    output("soil_buckling_wall_mm", "mm"),
    output("minimum_stiffness_wall_mm", "mm"),
    output("groundwater_pressure_mpa", "MPa"),
    output("external_load_mpa", "MPa"),
    output("buoyancy_factor", "-"),
    output("elastic_support", "-"),
];

fn run(values: &[f64], constants: ConstantsPath, place: OvalityPlace) -> Results {
    let outcome = GravityWall::from_values(values)?.evaluate(constants, place)?;
    let of = |check: WallCheck| {
        let found = outcome.checks.iter().find(|one| one.check == check);
        found.and_then(|one: &CheckedWall| one.wall_thickness_mm)
    };
    let demand = outcome.demands[0];
    Ok(vec![
        outcome.required_wall_thickness_mm(),
        of(WallCheck::RestrainedBuckling),
        of(WallCheck::OvalBending),
        of(WallCheck::SoilBuckling),
        of(WallCheck::MinimumStiffness),
        Some(demand.groundwater_pressure_mpa),
        Some(demand.external_load_mpa),
        Some(demand.buoyancy_factor),
        Some(demand.elastic_support),
    ])
}
