//! What must hold across the fields of the checks beside the wall.

use obvert_proto::{
    Violation,
    design::v1::{AsBuiltCheck, HydraulicCheck, PressureDesign, PullInCheck},
};

use super::sources::of_each;

const HYDRAULIC: [&str; 6] = [
    "host_inside_diameter_mm",
    "total_wall_mm",
    "roughness_before",
    "roughness_after",
    "slope_percent",
    "velocity_min_m_per_s",
];
const DESIGN_FLOW: &str = "design_flow_litre_per_s";

const PULL_IN: [&str; 14] = [
    "host_inside_diameter_mm",
    "wet_wall_mm",
    "density_kg_per_m3",
    "films_percent",
    "length_m",
    "friction_coefficient",
    "uphill_slope_percent",
    "total_bend_degrees",
    "pull_force_allowed_kn",
    "elongation_percent",
    "elongation_max_percent",
    "internal_pressure_kpa",
    "groundwater_above_invert_m",
    "sewage_above_invert_m",
];
const CARRY_MODES: &str = "carry_modes";

const PRESSURE: [&str; 4] = [
    "internal_pressure_mpa",
    "long_term_flexural_strength_mpa",
    "long_term_tensile_strength_mpa",
    "safety_factor",
];
const HOLE: &str = "hole_diameter_mm";

const AS_BUILT: [&str; 3] = [
    "wall",
    "short_term_flexural_modulus_mpa",
    "short_term_flexural_strength_mpa",
];
const OVALITY: &str = "ovality_percent";

/// Violations of a hydraulic check.
pub(crate) fn hydraulic(check: &HydraulicCheck) -> Vec<Violation> {
    let inputs = check.inputs.clone().unwrap_or_default();
    let mut needed = HYDRAULIC.to_vec();
    needed.extend(inputs.design_flow_litre_per_s.map(|_| DESIGN_FLOW));
    let mut wrong = of_each(&inputs.sources, &needed);
    let (diameter, wall) = (inputs.host_inside_diameter_mm, inputs.total_wall_mm);
    if diameter > 0.0 && wall * 5.0 > diameter {
        let message = format!(
            "is {wall} mm in a pipe of {diameter} mm, more than a fifth of it: check both units"
        );
        wrong.push(Violation::new("total_wall_mm", message));
    }
    below_inputs(wrong)
}

/// Violations of a pull-in check.
pub(crate) fn pull_in(check: &PullInCheck) -> Vec<Violation> {
    let inputs = check.inputs.clone().unwrap_or_default();
    let mut needed = PULL_IN.to_vec();
    needed.extend((!inputs.carry_modes.is_empty()).then_some(CARRY_MODES));
    below_inputs(of_each(&inputs.sources, &needed))
}

/// Violations of a pressure design.
pub(crate) fn pressure(design: &PressureDesign) -> Vec<Violation> {
    let inputs = design.inputs.clone().unwrap_or_default();
    let mut needed = PRESSURE.to_vec();
    needed.extend(inputs.hole_diameter_mm.map(|_| HOLE));
    below_inputs(of_each(&inputs.sources, &needed))
}

/// Violations of an as-built check.
pub(crate) fn as_built(check: &AsBuiltCheck) -> Vec<Violation> {
    let inputs = check.inputs.clone().unwrap_or_default();
    let mut needed = AS_BUILT.to_vec();
    needed.extend(inputs.ovality_percent.map(|_| OVALITY));
    let mut wrong = of_each(&inputs.sources, &needed);
    wrong.extend(inputs.ovality_percent.and_then(super::ovality_as_fraction));
    below_inputs(wrong)
}

fn below_inputs(wrong: Vec<Violation>) -> Vec<Violation> {
    let place = |v: Violation| Violation::new(format!("inputs.{}", v.field), v.message);
    wrong.into_iter().map(place).collect()
}
