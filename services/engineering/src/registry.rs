//! The list of all formulas, for a reader that has only names and numbers.

use crate::field::{Field, Problems};
use crate::{
    back_check, bending, buckling, capacity, deflection, elastic_support, encased_buckling,
    exfiltration, external_load, full_flow, groundwater, leak_air, live_load, order_thickness,
    ovality, partial_flow, perfect_shape, pressure_pipe, pull_in, retention, ring_tension,
    soil_buckling, stiffness, wheel_load,
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
    retention::LongTermModulus::FORMULA,
    buckling::RestrainedBuckling::FORMULA,
    buckling::RestrainedBucklingPressure::FORMULA,
    bending::OvalBending::FORMULA,
    bending::OvalBendingPressure::FORMULA,
    soil_buckling::SoilBuckling::FORMULA,
    soil_buckling::SoilBuckling::FORMULA_BEFORE_2007,
    soil_buckling::SoilBucklingLoad::FORMULA,
    stiffness::MinimumStiffness::FORMULA,
    stiffness::RingStiffness::FORMULA,
    order_thickness::OrderThickness::FORMULA,
    order_thickness::StretchedThickness::FORMULA,
    order_thickness::TolerancedThickness::FORMULA,
    back_check::EquivalentThickness::FORMULA,
    pressure_pipe::HoleLimit::FORMULA,
    pressure_pipe::HoleBending::FORMULA,
    ring_tension::RingTension::FORMULA,
    ring_tension::RingTensionWall::FORMULA,
    encased_buckling::RigidEncasement::FORMULA,
    encased_buckling::RigidEncasementWall::FORMULA,
    perfect_shape::PerfectShapeBuckling::FORMULA,
    encased_buckling::EquivalentEnhancement::FORMULA,
    deflection::TrenchLoad::FORMULA,
    deflection::Deflection::FORMULA,
    full_flow::FullFlow::FORMULA,
    full_flow::FullFlowUs::FORMULA,
    capacity::CapacityRatio::FORMULA,
    capacity::BreakEvenRoughness::FORMULA,
    partial_flow::PartialFlow::FORMULA,
    partial_flow::DepthForFlow::FORMULA,
    pull_in::LinerMass::FORMULA,
    pull_in::WinchForce::FORMULA,
    pull_in::Stretch::FORMULA,
    leak_air::AirTestTime::FORMULA,
    leak_air::AltitudeFactor::FORMULA,
    leak_air::AirTestPressure::FORMULA,
    exfiltration::ExfiltrationUs::FORMULA,
    exfiltration::ExfiltrationSi::FORMULA,
];
