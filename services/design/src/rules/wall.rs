//! Every check of `obvert_engineering` on the inputs of a design, as the wire says it.

use obvert_engineering::{
    nominal_wall::NominalWall, order_thickness::OrderThickness, section_demand::SectionDemand,
    soil_buckling::OvalityPlace as Place, wall_design as wall,
};
use obvert_proto::{
    Violation,
    design::v1::{SectionLoads, WallCheck, WallInputs, WallResult},
};

use super::{
    cross_checks, deflection,
    engineering::{engineering, violations},
    findings, sensitivity,
};

/// Works out the wall: every check at every section, what governs, and what to order.
///
/// # Errors
///
/// Every input that the formulas do not take, by its field in the inputs.
pub(crate) fn wall_result(inputs: &WallInputs) -> Result<WallResult, Vec<Violation>> {
    let design = engineering(inputs)?;
    let outcome = design.evaluate().map_err(|found| violations(&found))?;
    let asked = outcome.required_wall_thickness_mm().unwrap_or_default();
    let required = asked.max(inputs.owner_minimum_wall_mm);
    let tube = tube(inputs, required);
    let within = |found: obvert_engineering::Problems| violations(&found);
    let nominal = tube.nominal_wall_thickness_mm().map_err(within)?;
    let order = order_wall_mm(inputs, nominal).map_err(within)?;
    let installed = tube.installed_wall_thickness_mm(order).map_err(within)?;
    let governing = outcome
        .governing
        .filter(|_| asked > inputs.owner_minimum_wall_mm);
    let mut result = WallResult {
        checks: outcome
            .checks
            .iter()
            .map(|c| on_wire(c, design.ovality_place))
            .collect(),
        governing_check: governing
            .map_or(WallResult::OWNER_MINIMUM, |g| g.check.equation())
            .to_owned(),
        governing_station_m: governing.map_or(0.0, |g| g.station_m),
        required_wall_thickness_mm: required,
        order_wall_thickness_mm: order,
        nominal_wall_thickness_mm: nominal,
        installed_wall_thickness_mm: installed,
        long_term_flexural_modulus_mpa: design.inputs.long_term_flexural_modulus_mpa,
        section_loads: loads(&design, &outcome.demands),
        ..WallResult::default()
    };
    result.deflections = deflection::checks(inputs, &result).map_err(|found| violations(&found))?;
    result.cross_checks = cross_checks::cross_checks(inputs, &result);
    result.findings = findings::findings(inputs, &result);
    Ok(result)
}

/// The same with how the wall moves with each input.
///
/// # Errors
///
/// As [`wall_result`].
pub(crate) fn wall_result_with_sensitivities(
    inputs: &WallInputs,
) -> Result<WallResult, Vec<Violation>> {
    let mut result = wall_result(inputs)?;
    result.sensitivities = sensitivity::sensitivities(inputs);
    let hangs_on = sensitivity::hangs_on(&result.sensitivities);
    result.findings.extend(hangs_on);
    Ok(result)
}

/// What the tube loses between the order and the pipe.
pub(super) fn tube(inputs: &WallInputs, required_wall_thickness_mm: f64) -> NominalWall {
    let order = inputs.order.unwrap_or_default();
    let installed_diameter_mm = inputs.host_inside_diameter_mm;
    NominalWall {
        required_wall_thickness_mm,
        made_diameter_mm: order.made_diameter_mm.unwrap_or(installed_diameter_mm),
        installed_diameter_mm,
        tolerance_percent: order.order_tolerance_percent,
    }
}

/// Least wall on the owner's grid that is not below the required one.
pub(super) fn order_wall_mm(
    inputs: &WallInputs,
    required_wall_thickness_mm: f64,
) -> Result<f64, obvert_engineering::Problems> {
    OrderThickness {
        required_wall_thickness_mm,
        minimum_wall_thickness_mm: inputs.owner_minimum_wall_mm,
        wall_step_mm: inputs.wall_step_mm,
    }
    .order_wall_thickness_mm()
}

fn loads(design: &wall::WallDesign, demands: &[SectionDemand]) -> Vec<SectionLoads> {
    let load = |(section, demand): (
        &obvert_engineering::section_demand::DesignSection,
        &SectionDemand,
    )| {
        SectionLoads {
            station_m: demand.station_m,
            cover_m: demand.cover_m,
            groundwater_above_invert_m: section.groundwater_above_invert_m,
            groundwater_above_crown_m: demand.groundwater_above_crown_m,
            live_load_mpa: section.live_load_mpa,
            groundwater_pressure_mpa: demand.groundwater_pressure_mpa,
            buoyancy_factor: demand.buoyancy_factor,
            elastic_support: demand.elastic_support,
            external_load_mpa: demand.external_load_mpa,
        }
    };
    design.sections.iter().zip(demands).map(load).collect()
}

fn on_wire(checked: &wall::CheckedWall, place: Place) -> WallCheck {
    WallCheck {
        equation: checked.check.equation().to_owned(),
        title: checked.check.title().to_owned(),
        station_m: checked.station_m,
        wall_thickness_mm: checked.wall_thickness_mm,
        not_applicable_reason: checked.not_applicable_reason.unwrap_or_default().to_owned(),
        source: checked.check.source(place).to_owned(),
    }
}
