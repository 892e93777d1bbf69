//! The governing check of a gravity liner: ASTM F1216 Appendix X1 at each section of a segment.
//!
//! A partially deteriorated host pipe asks for X1.1 and X1.2, a fully deteriorated one for X1.1 to
//! X1.4; the thickest wall governs (Najafi, Trenchless Technology Piping, 2010, pp. 80, 83).
//! Give at least the shallowest and the deepest section: with traffic the wall is not monotone in
//! the cover, so the shallowest one may govern.
//! The owner's minimum wall and the step of orders come after, in [`crate::order_thickness`].

use crate::bending::OvalBending;
use crate::buckling::RestrainedBuckling;
use crate::field::{OutOfRange, Problems, inputs};
use crate::section_demand::{ConstantsPath, DesignSection, SectionDemand};
use crate::soil_buckling::{OvalityPlace, SoilBuckling};
use crate::stiffness::MinimumStiffness;

/// What the host pipe can still carry; the owner decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HostCondition {
    /// Soil and pipe carry soil and traffic; the liner resists groundwater only.
    PartiallyDeteriorated,
    /// The pipe carries nothing, now or within the design life.
    FullyDeteriorated,
}

/// One of the gravity checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WallCheck {
    /// X1.1, buckling under groundwater.
    RestrainedBuckling,
    /// X1.2, bending in an oval host pipe.
    OvalBending,
    /// X1.3, buckling under soil, water and traffic.
    SoilBuckling,
    /// X1.4, least stiffness.
    MinimumStiffness,
}

inputs! {
    /// Pipe, liner and soil of a segment, alike at all its sections.
    pub struct WallInputs {
        /// Mean inside diameter of the host pipe, neither nominal size nor finished bore.
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
    }
}

/// A design to be evaluated.
#[derive(Debug, Clone, PartialEq)]
pub struct WallDesign {
    /// Which printed constants to use.
    pub constants: ConstantsPath,
    /// Where the ovality factor stands in X1.3.
    pub ovality_place: OvalityPlace,
    /// What the host pipe can still carry.
    pub host_condition: HostCondition,
    /// Pipe, liner and soil.
    pub inputs: WallInputs,
    /// Sections to check, in any order.
    pub sections: Vec<DesignSection>,
}

/// One check at one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CheckedWall {
    /// Which check.
    pub check: WallCheck,
    /// Station of the section.
    pub station_m: f64,
    /// Wall that the check asks for, or `None` when it does not apply here.
    pub wall_thickness_mm: Option<f64>,
    /// Why it does not apply; present exactly when there is no wall.
    pub not_applicable_reason: Option<&'static str>,
}

/// Outcome of a design.
#[derive(Debug, Clone, PartialEq)]
pub struct WallOutcome {
    /// Constants that were used.
    pub constants: ConstantsPath,
    /// Loads and soil factors, one for each section in the order given.
    pub demands: Vec<SectionDemand>,
    /// Every check at every section, section by section.
    pub checks: Vec<CheckedWall>,
    /// The check that asks for the thickest wall; `None` when none applies, and then the owner's
    /// minimum wall stands alone.
    pub governing: Option<CheckedWall>,
    /// D/100 where a section has no groundwater: the usual limit of DR 100 (from memory).
    pub dry_limit_wall_thickness_mm: Option<f64>,
}

/// Groundwater pressure below which a section counts as dry: a tenth of a millimetre of water.
const DRY_BELOW_MPA: f64 = 0.000_001;

impl WallDesign {
    /// Evaluates all checks at all sections.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range together, those of a section under `sections[i]`; an empty
    /// list of sections; a long-term modulus above the initial one; or a wall that is no thin ring.
    pub fn evaluate(&self) -> Result<WallOutcome, Problems> {
        let demands = self.demands()?;
        let mut checks = Vec::new();
        for demand in &demands {
            for check in self.host_condition.checks() {
                checks.push(self.checked(*check, demand)?);
            }
        }
        let dry = demands
            .iter()
            .any(|d| d.groundwater_pressure_mpa < DRY_BELOW_MPA);
        Ok(WallOutcome {
            constants: self.constants,
            demands,
            governing: thickest(&checks),
            checks,
            dry_limit_wall_thickness_mm: dry.then_some(self.inputs.host_diameter_mm / 100.0),
        })
    }

    /// Loads and soil factors of all sections, in the order given.
    ///
    /// # Errors
    ///
    /// Returns what is wrong with inputs and sections, as [`Self::evaluate`] does.
    pub(crate) fn demands(&self) -> Result<Vec<SectionDemand>, Problems> {
        Problems::or_ok(self.problems())?;
        let demand = |section: &DesignSection| {
            section.demand(
                self.constants,
                self.inputs.host_diameter_mm,
                self.inputs.soil_unit_weight_kn_per_m3,
            )
        };
        self.sections.iter().map(demand).collect()
    }

    fn problems(&self) -> Vec<OutOfRange> {
        let mut found = self
            .inputs
            .check()
            .err()
            .map_or(Vec::new(), |problems| problems.0);
        let (short, long) = (
            self.inputs.short_term_flexural_modulus_mpa,
            self.inputs.long_term_flexural_modulus_mpa,
        );
        if long > short {
            found.push(OutOfRange {
                field: "long_term_flexural_modulus_mpa".to_owned(),
                value: long,
                min: 0.0,
                max: short,
                unit: "MPa",
                remedy: "The modulus after the design life cannot exceed the initial one."
                    .to_owned(),
            });
        }
        if self.sections.is_empty() {
            found.push(OutOfRange {
                field: "sections".to_owned(),
                value: 0.0,
                min: 1.0,
                max: f64::INFINITY,
                unit: "sections",
                remedy: "Give the shallowest and the deepest section of the segment.".to_owned(),
            });
        }
        for (index, section) in self.sections.iter().enumerate() {
            let problems = section
                .check()
                .err()
                .map_or(Vec::new(), |problems| problems.0);
            found.extend(problems.into_iter().map(|problem| OutOfRange {
                field: format!("sections[{index}].{}", problem.field),
                ..problem
            }));
        }
        found
    }

    fn checked(&self, check: WallCheck, demand: &SectionDemand) -> Result<CheckedWall, Problems> {
        let dry = demand.groundwater_pressure_mpa < DRY_BELOW_MPA;
        let (wall_thickness_mm, reason) = match check {
            WallCheck::RestrainedBuckling | WallCheck::OvalBending if dry => {
                (None, "There is no groundwater above the invert.")
            }
            WallCheck::RestrainedBuckling => (Some(self.restrained_buckling_mm(demand)?), ""),
            WallCheck::OvalBending => (self.oval_bending_mm(demand)?, "The host pipe is round."),
            WallCheck::SoilBuckling => (Some(self.soil_buckling_mm(demand)?), ""),
            WallCheck::MinimumStiffness => (Some(self.minimum_stiffness_mm()?), ""),
        };
        Ok(CheckedWall {
            check,
            station_m: demand.station_m,
            wall_thickness_mm,
            not_applicable_reason: wall_thickness_mm.is_none().then_some(reason),
        })
    }

    fn restrained_buckling_mm(&self, demand: &SectionDemand) -> Result<f64, Problems> {
        RestrainedBuckling {
            host_diameter_mm: self.inputs.host_diameter_mm,
            groundwater_pressure_mpa: demand.groundwater_pressure_mpa,
            enhancement_factor: self.inputs.enhancement_factor,
            long_term_flexural_modulus_mpa: self.inputs.long_term_flexural_modulus_mpa,
            poisson_ratio: self.inputs.poisson_ratio,
            ovality_percent: self.inputs.ovality_percent,
            safety_factor: self.inputs.safety_factor,
        }
        .wall_thickness_mm()
    }

    fn oval_bending_mm(&self, demand: &SectionDemand) -> Result<Option<f64>, Problems> {
        OvalBending {
            host_diameter_mm: self.inputs.host_diameter_mm,
            groundwater_pressure_mpa: demand.groundwater_pressure_mpa,
            long_term_flexural_strength_mpa: self.inputs.long_term_flexural_strength_mpa,
            ovality_percent: self.inputs.ovality_percent,
            safety_factor: self.inputs.safety_factor,
        }
        .wall_thickness_mm()
    }

    fn soil_buckling_mm(&self, demand: &SectionDemand) -> Result<f64, Problems> {
        SoilBuckling {
            host_diameter_mm: self.inputs.host_diameter_mm,
            external_load_mpa: demand.external_load_mpa,
            buoyancy_factor: demand.buoyancy_factor,
            elastic_support: demand.elastic_support,
            soil_modulus_mpa: self.inputs.soil_modulus_mpa,
            long_term_flexural_modulus_mpa: self.inputs.long_term_flexural_modulus_mpa,
            ovality_percent: self.inputs.ovality_percent,
            safety_factor: self.inputs.safety_factor,
        }
        .wall_thickness_mm(self.ovality_place)
    }

    fn minimum_stiffness_mm(&self) -> Result<f64, Problems> {
        MinimumStiffness {
            host_diameter_mm: self.inputs.host_diameter_mm,
            short_term_flexural_modulus_mpa: self.inputs.short_term_flexural_modulus_mpa,
            stiffness_limit_mpa: self.constants.stiffness_limit_mpa(),
        }
        .wall_thickness_mm()
    }
}

impl WallOutcome {
    /// Wall of the governing check, before the owner's minimum; `None` when no check applies.
    pub fn required_wall_thickness_mm(&self) -> Option<f64> {
        self.governing
            .and_then(|governing| governing.wall_thickness_mm)
    }
}

impl HostCondition {
    /// The checks that this condition asks for.
    pub fn checks(self) -> &'static [WallCheck] {
        use WallCheck::{MinimumStiffness, OvalBending, RestrainedBuckling, SoilBuckling};
        match self {
            Self::PartiallyDeteriorated => &[RestrainedBuckling, OvalBending],
            Self::FullyDeteriorated => &[
                RestrainedBuckling,
                OvalBending,
                SoilBuckling,
                MinimumStiffness,
            ],
        }
    }
}

impl WallCheck {
    /// Number of the equation in ASTM F1216 Appendix X1.
    pub fn equation(self) -> &'static str {
        match self {
            Self::RestrainedBuckling => "X1.1",
            Self::OvalBending => "X1.2",
            Self::SoilBuckling => "X1.3",
            Self::MinimumStiffness => "X1.4",
        }
    }

    /// The check in words.
    pub fn title(self) -> &'static str {
        match self {
            Self::RestrainedBuckling => "buckling under groundwater",
            Self::OvalBending => "bending in an oval host pipe",
            Self::SoilBuckling => "buckling under soil, water and traffic",
            Self::MinimumStiffness => "least stiffness",
        }
    }

    /// Where the equation can be read.
    pub fn source(self, place: OvalityPlace) -> &'static str {
        match (self, place) {
            (Self::RestrainedBuckling, _) => RestrainedBuckling::FORMULA.source,
            (Self::OvalBending, _) => OvalBending::FORMULA.source,
            (Self::SoilBuckling, OvalityPlace::InsideRoot) => SoilBuckling::FORMULA.source,
            (Self::SoilBuckling, OvalityPlace::BeforeRoot) => {
                SoilBuckling::FORMULA_BEFORE_2007.source
            }
            (Self::MinimumStiffness, _) => MinimumStiffness::FORMULA.source,
        }
    }
}

/// The first of the thickest walls.
fn thickest(checks: &[CheckedWall]) -> Option<CheckedWall> {
    let mut found: Option<CheckedWall> = None;
    for checked in checks {
        let wall = checked.wall_thickness_mm;
        if wall.is_some() && wall > found.and_then(|best| best.wall_thickness_mm) {
            found = Some(*checked);
        }
    }
    found
}
