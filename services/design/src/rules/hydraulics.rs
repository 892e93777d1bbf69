//! Whether a lined pipe carries at least what the host pipe did: Manning's equation before and
//! after, full and at the design flow.

use obvert_engineering::{
    Problems,
    capacity::{BreakEvenRoughness, CapacityRatio},
    full_flow::FullFlow,
    partial_flow::{DepthForFlow, PartialFlow},
};
use obvert_proto::{
    Problem,
    common::v1::Finding,
    design::v1::{HydraulicCheck, HydraulicInputs, HydraulicResult, InputSource},
};

use super::{engineering::violations, refused};

/// Litres in a cubic metre.
const LITRE: f64 = 1000.0;

/// The check with its result.
pub(super) fn judged(check: HydraulicCheck) -> Result<HydraulicCheck, Problem> {
    let inputs = check.inputs.clone().unwrap_or_default();
    let result =
        result(&inputs).map_err(|found| refused("hydraulic_check.inputs", violations(&found)))?;
    Ok(HydraulicCheck {
        result: Some(result),
        ..check
    })
}

fn result(inputs: &HydraulicInputs) -> Result<HydraulicResult, Problems> {
    let slope = inputs.slope_percent / 100.0;
    let pipe = |bore_mm: f64, roughness_n: f64| FullFlow {
        inside_diameter_m: bore_mm / 1000.0,
        roughness_n,
        slope,
    };
    let bore_mm = inputs.host_inside_diameter_mm - 2.0 * inputs.total_wall_mm;
    let before = pipe(inputs.host_inside_diameter_mm, inputs.roughness_before);
    let after = pipe(bore_mm, inputs.roughness_after);
    let dimension_ratio = inputs.host_inside_diameter_mm / inputs.total_wall_mm;
    let capacity = CapacityRatio {
        dimension_ratio,
        roughness_before: inputs.roughness_before,
        roughness_after: inputs.roughness_after,
    };
    let (old, new) = (before.flow_m3_per_s()?, after.flow_m3_per_s()?);
    let (old_velocity, velocity) = (before.velocity_m_per_s()?, after.velocity_m_per_s()?);
    let flow = inputs.design_flow_litre_per_s.map(|flow| flow / LITRE);
    let depth = |full: f64| {
        let flow_ratio = flow? / full;
        DepthForFlow { flow_ratio }.relative_depth().ok()
    };
    let relative_depth_after = depth(new);
    let velocity_ratio = |relative_depth: f64| PartialFlow { relative_depth }.velocity_ratio();
    let mut result = HydraulicResult {
        full_flow_before_litre_per_s: old * LITRE,
        full_flow_after_litre_per_s: new * LITRE,
        velocity_before_m_per_s: old_velocity,
        velocity_after_m_per_s: velocity,
        capacity_percent: capacity.capacity_percent()?,
        velocity_percent: 100.0 * velocity / old_velocity,
        roughness_no_loss: inputs.roughness_before
            * BreakEvenRoughness { dimension_ratio }.roughness_ratio()?,
        slope_min_percent: inputs.slope_percent * (inputs.velocity_min_m_per_s / velocity).powi(2),
        relative_depth_before: depth(old),
        relative_depth_after,
        velocity_at_flow_m_per_s: relative_depth_after
            .and_then(|depth| Some(velocity * velocity_ratio(depth).ok()?)),
        findings: Vec::new(),
    };
    result.findings = findings(inputs, &result);
    Ok(result)
}

fn findings(inputs: &HydraulicInputs, result: &HydraulicResult) -> Vec<Finding> {
    let percent = result.capacity_percent;
    let (before, after) = (inputs.roughness_before, inputs.roughness_after);
    let roughness = format!(
        "Manning's n {before} before ({}) and {after} after ({})",
        origin(inputs, "roughness_before"),
        origin(inputs, "roughness_after")
    );
    let facts = [
        ("capacity_percent", percent),
        ("roughness_before", before),
        ("roughness_after", after),
    ];
    let mut found = Vec::new();
    found.push(if percent >= 100.0 {
        let message = format!(
            "The lined pipe carries at least what the host pipe did: {percent:.1} percent, with \
             {roughness}."
        );
        Finding::note("capacity-kept", message, &facts)
    } else {
        let message = format!(
            "The lined pipe carries less than the host pipe did: {percent:.1} percent, with \
             {roughness}. Show that the flow still fits, or choose a thinner wall."
        );
        Finding::holding("capacity-lost", message, &facts)
    });
    if inputs.design_flow_litre_per_s.is_some() && result.relative_depth_after.is_none() {
        let flow = inputs.design_flow_litre_per_s.unwrap_or_default();
        let message = format!(
            "The design flow of {flow} litre/s exceeds the {:.1} litre/s of the full lined pipe by \
             more than 7.57 percent, the most a circle carries: the segment surcharges.",
            result.full_flow_after_litre_per_s
        );
        found.push(Finding::holding("design-flow-too-large", message, &facts));
    }
    if inputs.slope_percent < result.slope_min_percent {
        let message = format!(
            "The slope is {} percent, below the {:.3} percent at which the full lined pipe reaches \
             {} m/s: expect deposits and plan cleaning.",
            inputs.slope_percent, result.slope_min_percent, inputs.velocity_min_m_per_s
        );
        found.push(Finding::note("slope-below-least", message, &facts));
    }
    found
}

/// Provenance and source of an input, in words.
fn origin(inputs: &HydraulicInputs, field: &str) -> String {
    let named = |source: &&InputSource| source.field == field;
    let source = inputs.sources.iter().find(named);
    source.map_or_else(String::new, |source| {
        format!("{}: {}", source.provenance().word(), source.source)
    })
}
