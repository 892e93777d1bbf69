//! What an installed liner can bear: the checks of its design run backwards on measured values.
//!
//! Every check gives a capacity at a factor of safety of 1 and what is asked of it. Their ratio is
//! the factor of safety achieved. A ratio below the one asked for is an answer, not an error.
//! Thickness and modulus must be on the same basis (composite, structural, or with films).

use crate::bending::OvalBendingPressure;
use crate::buckling::RestrainedBucklingPressure;
use crate::field::{Problems, inputs};
use crate::registry::{Formula, Output, one};
use crate::section_demand::SectionDemand;
use crate::soil_buckling::SoilBucklingLoad;
use crate::stiffness::RingStiffness;
use crate::wall_design::{WallCheck, WallDesign};

inputs! {
    /// Wall and properties of the liner as tested.
    pub struct AsBuilt {
        /// Mean wall on the basis that the moduli refer to.
        wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Flexural modulus as tested.
        short_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Tested modulus times the retention of the design.
        long_term_flexural_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Tested strength times the retention of the design.
        long_term_flexural_strength_mpa: "MPa" in 1.0..=1000.0,
    }
}

/// One check of the installed liner at one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AchievedSafety {
    /// Which check.
    pub check: WallCheck,
    /// Station of the section.
    pub station_m: f64,
    /// Pressure, load or stiffness that the liner reaches at a factor of safety of 1.
    pub capacity_mpa: f64,
    /// Pressure, load or stiffness that is asked of it.
    pub demand_mpa: f64,
    /// Capacity over demand.
    pub achieved_safety_factor: f64,
    /// Ratio that is asked for: the design's factor of safety, or 1 for stiffness.
    pub required_safety_factor: f64,
}

inputs! {
    /// Wall of the design's stiffness that a liner with another modulus amounts to.
    ///
    /// # Equation
    ///
    /// ```text
    /// t_eq = t·(E_measured/E_design)^(1/3)
    /// ```
    ///
    /// # Units
    ///
    /// mm and MPa.
    ///
    /// # Range
    ///
    /// Checked against [`Self::INPUTS`]. It holds for X1.3 and X1.4, which depend on E·t³ only;
    /// X1.1 takes (DR − 1)³ and X1.2 the strength.
    ///
    /// # Source
    ///
    /// Follows from equation X1.3 of ASTM F1216 Appendix X1.
    ///
    /// # Example
    ///
    /// ```
    /// // Own example, checked by hand: 4 mm with 10 percent more modulus, 4·1.1^(1/3).
    /// use obvert_engineering::back_check::EquivalentThickness;
    /// let liner = EquivalentThickness {
    ///     wall_thickness_mm: 4.0,
    ///     measured_modulus_mpa: 11_000.0,
    ///     design_modulus_mpa: 10_000.0,
    /// };
    /// assert_eq!(format!("{:.3}", liner.equivalent_wall_thickness_mm()?), "4.129");
    /// # Ok::<(), obvert_engineering::Problems>(())
    /// ```
    pub struct EquivalentThickness {
        /// Mean wall as measured.
        wall_thickness_mm: "mm" in 0.5..=200.0,
        /// Flexural modulus as tested.
        measured_modulus_mpa: "MPa" in 50.0..=60000.0,
        /// Flexural modulus of the design, of the same age as the tested one.
        design_modulus_mpa: "MPa" in 50.0..=60000.0,
    }
}

impl AsBuilt {
    /// Achieved factors of safety, check by check and section by section; a check that sets no
    /// limit is left out.
    ///
    /// # Errors
    ///
    /// Returns all values out of range, of the liner or of the design.
    pub fn achieved(&self, design: &WallDesign) -> Result<Vec<AchievedSafety>, Problems> {
        self.check()?;
        let mut achieved = Vec::new();
        for demand in &design.demands()? {
            for check in design.host_condition.checks() {
                let capacity = self.capacity_mpa(*check, design, demand)?;
                let demand_mpa = match check {
                    WallCheck::RestrainedBuckling | WallCheck::OvalBending => {
                        demand.groundwater_pressure_mpa
                    }
                    WallCheck::SoilBuckling => demand.external_load_mpa,
                    WallCheck::MinimumStiffness => design.constants.stiffness_limit_mpa(),
                };
                // A demand next to nothing is none: the ratio would be no number.
                let has_ratio = |capacity_mpa: &f64| {
                    demand_mpa > 0.0 && (capacity_mpa / demand_mpa).is_finite()
                };
                let Some(capacity_mpa) = capacity.filter(has_ratio) else {
                    continue;
                };
                achieved.push(AchievedSafety {
                    check: *check,
                    station_m: demand.station_m,
                    capacity_mpa,
                    demand_mpa,
                    achieved_safety_factor: capacity_mpa / demand_mpa,
                    required_safety_factor: match check {
                        WallCheck::MinimumStiffness => 1.0,
                        _ => design.inputs.safety_factor,
                    },
                });
            }
        }
        Ok(achieved)
    }

    fn capacity_mpa(
        &self,
        check: WallCheck,
        design: &WallDesign,
        demand: &SectionDemand,
    ) -> Result<Option<f64>, Problems> {
        let inputs = &design.inputs;
        let (host_diameter_mm, ovality_percent) = (inputs.host_diameter_mm, inputs.ovality_percent);
        let wall_thickness_mm = self.wall_thickness_mm;
        match check {
            WallCheck::RestrainedBuckling => RestrainedBucklingPressure {
                host_diameter_mm,
                wall_thickness_mm,
                enhancement_factor: inputs.enhancement_factor,
                long_term_flexural_modulus_mpa: self.long_term_flexural_modulus_mpa,
                poisson_ratio: inputs.poisson_ratio,
                ovality_percent,
                safety_factor: 1.0,
            }
            .groundwater_pressure_mpa()
            .map(Some),
            WallCheck::OvalBending => OvalBendingPressure {
                host_diameter_mm,
                wall_thickness_mm,
                long_term_flexural_strength_mpa: self.long_term_flexural_strength_mpa,
                ovality_percent,
                safety_factor: 1.0,
            }
            .groundwater_pressure_mpa(),
            WallCheck::SoilBuckling => SoilBucklingLoad {
                host_diameter_mm,
                wall_thickness_mm,
                buoyancy_factor: demand.buoyancy_factor,
                elastic_support: demand.elastic_support,
                soil_modulus_mpa: inputs.soil_modulus_mpa,
                long_term_flexural_modulus_mpa: self.long_term_flexural_modulus_mpa,
                ovality_percent,
                safety_factor: 1.0,
            }
            .external_load_mpa(design.ovality_place)
            .map(Some),
            WallCheck::MinimumStiffness => RingStiffness {
                host_diameter_mm,
                wall_thickness_mm,
                short_term_flexural_modulus_mpa: self.short_term_flexural_modulus_mpa,
            }
            .ring_stiffness_mpa()
            .map(Some),
        }
    }
}

impl AchievedSafety {
    /// Whether the liner reaches the ratio asked for.
    pub fn is_met(&self) -> bool {
        self.achieved_safety_factor >= self.required_safety_factor
    }
}

impl EquivalentThickness {
    /// The wall with the design's modulus that is as stiff.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range.
    pub fn equivalent_wall_thickness_mm(&self) -> Result<f64, Problems> {
        self.check()?;
        Ok(self.wall_thickness_mm * (self.measured_modulus_mpa / self.design_modulus_mpa).cbrt())
    }

    /// Entry for the list of formulas.
    pub const FORMULA: Formula = Formula {
        name: "equivalent-wall",
        title: "wall of the design's stiffness that a liner with another modulus amounts to",
        inputs: Self::INPUTS,
        doc: Self::DOC,
        outputs: &[Output {
            name: "equivalent_wall_thickness_mm",
            unit: "mm",
        }],
        source: "follows from ASTM F1216 Appendix X1, X1.3",
        run: |values| one(Self::from_values(values)?.equivalent_wall_thickness_mm()),
    };
}
