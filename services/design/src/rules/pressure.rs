//! A liner under internal pressure: X1.5 to X1.7, with the empty pipe checked by its wall design.

use obvert_engineering::{
    Problems, hole_wall::HoleWall, pressure_pipe::HoleLimit, ring_tension::RingTensionWall,
};
use obvert_proto::{
    Problem,
    common::v1::Finding,
    design::v1::{
        HostCondition, PressureDesign, PressureInputs, PressureResult, WallCheck, WallInputs,
    },
};
use obvert_records::Named;

use super::{
    design_of,
    engineering::violations,
    refused,
    wall::{order_wall_mm, tube},
};

/// Governing check where the empty pipe asks for the thickest wall.
const EMPTY_PIPE: &str = "empty-pipe";

/// The design with its result.
pub(super) fn judged(design: PressureDesign, named: &Named) -> Result<PressureDesign, Problem> {
    let inputs = design.inputs.clone().unwrap_or_default();
    let field = "pressure_design.design";
    let external = design_of(named, &design.design, &design.segment, field)?;
    let empty_mm = external
        .result
        .unwrap_or_default()
        .required_wall_thickness_mm;
    let result = result(&inputs, &external.inputs.unwrap_or_default(), empty_mm)
        .map_err(|found| refused("pressure_design.inputs", violations(&found)))?;
    Ok(PressureDesign {
        result: Some(result),
        ..design
    })
}

fn result(
    inputs: &PressureInputs,
    external: &WallInputs,
    empty_mm: f64,
) -> Result<PressureResult, Problems> {
    let diameter = external.host_inside_diameter_mm;
    let hoop_mm = RingTensionWall {
        host_diameter_mm: diameter,
        internal_pressure_mpa: inputs.internal_pressure_mpa,
        long_term_tensile_strength_mpa: inputs.long_term_tensile_strength_mpa,
        safety_factor: inputs.safety_factor,
    }
    .wall_thickness_mm()?;
    let carries_all = external.host_condition() != HostCondition::PartiallyDeteriorated;
    let plate_mm = match inputs.hole_diameter_mm.filter(|_| !carries_all) {
        Some(hole_diameter_mm) => HoleWall {
            host_diameter_mm: diameter,
            hole_diameter_mm,
            internal_pressure_mpa: inputs.internal_pressure_mpa,
            long_term_flexural_strength_mpa: inputs.long_term_flexural_strength_mpa,
            safety_factor: inputs.safety_factor,
        }
        .wall_thickness_mm()?,
        None => None,
    };
    let reason = match (carries_all, inputs.hole_diameter_mm) {
        (true, _) => "The fully deteriorated host pipe carries no hoop: X1.7 applies.",
        (false, None) => "No hole is given: the liner is taken to carry the whole hoop.",
        (false, Some(_)) => "The hole is too large for a plate: X1.7 applies.",
    };
    let internal_mm = plate_mm.unwrap_or(hoop_mm);
    let required = internal_mm.max(empty_mm);
    let tube = tube(external, required);
    let order = order_wall_mm(external, tube.nominal_wall_thickness_mm()?)?;
    let installed = tube.installed_wall_thickness_mm(order)?;
    let limit = HoleLimit {
        dimension_ratio: diameter / installed,
    };
    Ok(PressureResult {
        checks: checks(plate_mm, hoop_mm, reason),
        hole_diameter_max_mm: limit.hole_ratio()? * diameter,
        empty_pipe_wall_thickness_mm: empty_mm,
        governing_check: match (empty_mm > internal_mm, plate_mm) {
            (true, _) => EMPTY_PIPE,
            (false, Some(_)) => "X1.6",
            (false, None) => "X1.7",
        }
        .to_owned(),
        required_wall_thickness_mm: required,
        order_wall_thickness_mm: order,
        installed_wall_thickness_mm: installed,
        findings: vec![Finding::note(
            "pressure-from-memory",
            "X1.5 to X1.7 were set down from memory and no published number was found to prove \
             them: check them against the standard before use."
                .to_owned(),
            &[("required_wall_thickness_mm", required)],
        )],
    })
}

/// X1.6 and X1.7, of which one applies.
fn checks(plate_mm: Option<f64>, hoop_mm: f64, no_plate: &str) -> Vec<WallCheck> {
    let no_hoop = "The hole is small enough for a plate: X1.6 applies.";
    vec![
        check(
            "X1.6",
            "bending over a hole of the host pipe",
            plate_mm,
            plate_mm.map_or(no_plate, |_| ""),
            HoleWall::FORMULA.source,
        ),
        check(
            "X1.7",
            "ring in tension",
            Some(hoop_mm).filter(|_| plate_mm.is_none()),
            plate_mm.map_or("", |_| no_hoop),
            RingTensionWall::FORMULA.source,
        ),
    ]
}

fn check(equation: &str, title: &str, wall: Option<f64>, why_not: &str, source: &str) -> WallCheck {
    WallCheck {
        equation: equation.to_owned(),
        title: title.to_owned(),
        station_m: 0.0,
        wall_thickness_mm: wall,
        not_applicable_reason: why_not.to_owned(),
        source: source.to_owned(),
    }
}
