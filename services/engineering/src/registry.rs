//! The list of all formulas, for a reader that has only names and numbers.

use crate::document::Document;
use crate::entered::doubts;
use crate::field::{Field, Problems};
use crate::notes::notes;
use crate::{
    as_built_wall, back_check, bending, buckling, capacity, carry, deflection,
    deteriorated_pressure_wall, elastic_support, encased_buckling, exfiltration, external_load,
    full_flow, gravity_wall, groundwater, hole_wall, inflation_pressure, leak_air, lined_flow,
    live_load, minimum_slope, nominal_wall, order_thickness, ovality, partial_flow, partial_wall,
    perfect_shape, pressure_pipe, pressure_wall, pull_in, pull_limit, retention, ring_tension,
    soil_buckling, stiffness, wall_tolerance, wheel_load,
};

/// A formula with its inputs, its results and its source, ready to run on a list of numbers.
#[derive(Debug, Clone, Copy)]
pub struct Formula {
    /// Name in kebab case, stable between versions.
    pub name: &'static str,
    /// What it computes, as half a sentence.
    pub title: &'static str,
    /// Inputs in the order in which `run` takes them.
    pub inputs: &'static [Field],
    /// Its rustdoc: equation, units, range, source, and what each input is.
    pub doc: Document,
    /// Results in the order in which `run` gives them.
    pub outputs: &'static [Output],
    /// Title, number, year and page or equation.
    pub source: &'static str,
    /// Runs the formula; a result of `None` means that it does not apply to these inputs.
    pub run: fn(&[f64]) -> Results,
}

/// One result of a formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Output {
    /// Name of the method that gives it, unit suffix included.
    pub name: &'static str,
    /// Unit in print, or "-" for a ratio.
    pub unit: &'static str,
}

impl Formula {
    /// Notes on results that this formula gave for these values.
    pub fn notes(&self, values: &[f64], results: &[Option<f64>]) -> Vec<&'static str> {
        notes(self, values, results)
    }

    /// Runs the formula on numbers that a person entered: what is in range and still looks like a
    /// mistake is refused as well.
    ///
    /// # Errors
    ///
    /// Returns all inputs out of range and all that look like a mistake.
    pub fn run_entered(&self, values: &[f64]) -> Results {
        let doubts = doubts(self.inputs, values);
        match (self.run)(values) {
            Ok(results) if doubts.is_empty() => Ok(results),
            Ok(_) => Err(Problems(doubts)),
            Err(Problems(mut found)) => {
                found.extend(doubts);
                Err(Problems(found))
            }
        }
    }
}

/// What a formula gives: one entry for each output, or all inputs that are out of range.
pub type Results = Result<Vec<Option<f64>>, Problems>;

/// All formulas of this crate, by subject.
pub fn formulas() -> &'static [Formula] {
    FORMULAS
}

/// Packs the single result of a formula for `run`.
pub(crate) fn one(result: Result<f64, Problems>) -> Results {
    Ok(vec![Some(result?)])
}

static FORMULAS: &[Formula] = &[
    ovality::Ovality::FORMULA,
    ovality::OvalityReduction::FORMULA,
    groundwater::GroundwaterHead::FORMULA,
    groundwater::GroundwaterHead::FORMULA_AT_CROWN,
    groundwater::GroundwaterHead::FORMULA_HALF_COVER,
    groundwater::GroundwaterBelowSurface::FORMULA,
    groundwater::GroundwaterPressureUs::FORMULA,
    groundwater::GroundwaterPressureSi::FORMULA,
    elastic_support::ElasticSupportUs::FORMULA,
    elastic_support::ElasticSupportSi::FORMULA,
    external_load::BuoyancyFactor::FORMULA,
    external_load::ExternalLoadUs::FORMULA,
    external_load::ExternalLoadSi::FORMULA,
    live_load::HighwayLiveLoad::FORMULA,
    live_load::RailwayLiveLoad::FORMULA,
    wheel_load::LoadCoefficient::FORMULA,
    wheel_load::WheelLoad::FORMULA,
    wheel_load::SpreadLoad::FORMULA,
    retention::LongTermModulus::FORMULA,
    buckling::RestrainedBuckling::FORMULA,
    buckling::RestrainedBucklingPressure::FORMULA,
    bending::OvalBending::FORMULA,
    bending::OvalBendingPressure::FORMULA,
    soil_buckling::SoilBuckling::FORMULA,
    soil_buckling::SoilBuckling::FORMULA_BEFORE_2007,
    soil_buckling::SoilBucklingLoad::FORMULA,
    soil_buckling::SoilBucklingLoad::FORMULA_BEFORE_2007,
    stiffness::MinimumStiffness::FORMULA,
    stiffness::RingStiffness::FORMULA,
    partial_wall::PartialWall::FORMULA,
    gravity_wall::GravityWall::FORMULA,
    gravity_wall::GravityWall::FORMULA_US,
    gravity_wall::GravityWall::FORMULA_BEFORE_2007,
    order_thickness::OrderThickness::FORMULA,
    order_thickness::StretchedThickness::FORMULA,
    order_thickness::TolerancedThickness::FORMULA,
    nominal_wall::NominalWall::FORMULA,
    wall_tolerance::WallLimits::FORMULA,
    back_check::EquivalentThickness::FORMULA,
    as_built_wall::AsBuiltWall::FORMULA,
    as_built_wall::AsBuiltWall::FORMULA_US,
    pressure_pipe::HoleLimit::FORMULA,
    pressure_pipe::HoleBending::FORMULA,
    hole_wall::HoleWall::FORMULA,
    ring_tension::RingTension::FORMULA,
    ring_tension::RingTensionWall::FORMULA,
    pressure_wall::PressureWall::FORMULA,
    deteriorated_pressure_wall::DeterioratedPressureWall::FORMULA,
    deteriorated_pressure_wall::DeterioratedPressureWall::FORMULA_US,
    encased_buckling::RigidEncasement::FORMULA,
    encased_buckling::RigidEncasementWall::FORMULA,
    perfect_shape::PerfectShapeBuckling::FORMULA,
    encased_buckling::EquivalentEnhancement::FORMULA,
    deflection::TrenchLoad::FORMULA,
    deflection::Deflection::FORMULA,
    full_flow::FullFlow::FORMULA,
    full_flow::FullFlowUs::FORMULA,
    minimum_slope::MinimumSlope::FORMULA,
    minimum_slope::MinimumSlopeUs::FORMULA,
    lined_flow::LinedFlow::FORMULA,
    capacity::CapacityRatio::FORMULA,
    capacity::BreakEvenRoughness::FORMULA,
    partial_flow::PartialFlow::FORMULA,
    partial_flow::DepthForFlow::FORMULA,
    pull_in::LinerMass::FORMULA,
    pull_in::WinchForce::FORMULA,
    pull_limit::PullLimit::FORMULA,
    pull_limit::StreetSidePull::FORMULA,
    pull_in::Stretch::FORMULA,
    carry::PeopleRow::FORMULA,
    carry::CrateLift::FORMULA,
    carry::Rollers::FORMULA,
    carry::Cart::FORMULA,
    inflation_pressure::InflationPressure::FORMULA,
    leak_air::AirTestTime::FORMULA,
    leak_air::AltitudeFactor::FORMULA,
    leak_air::AirTestPressure::FORMULA,
    exfiltration::ExfiltrationUs::FORMULA,
    exfiltration::ExfiltrationSi::FORMULA,
];
