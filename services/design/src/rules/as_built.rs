//! What an installed liner bears: the checks of its design run backwards on measured values.
//!
//! The answer informs a disposition. It is never a pass: whether less than was designed may stay is
//! for the engineer and the owner to decide.

use obvert_engineering::{
    Problems,
    back_check::{AsBuilt, EquivalentThickness},
};
use obvert_proto::{
    Problem, Violation,
    common::v1::Finding,
    design::v1::{AchievedSafety, AsBuiltCheck, AsBuiltInputs, AsBuiltResult, WallInputs},
};
use obvert_records::Named;

use super::{
    design_of,
    engineering::{engineering, violations},
    refused,
};

/// The check with its result.
pub(super) fn judged(check: AsBuiltCheck, named: &Named) -> Result<AsBuiltCheck, Problem> {
    let measured = check.inputs.clone().unwrap_or_default();
    let field = "as_built_check.design";
    let design = design_of(named, &check.design, &check.segment, field)?;
    let required_mm = design.result.unwrap_or_default().required_wall_thickness_mm;
    let inputs = design.inputs.unwrap_or_default();
    let result = as_built_result(&measured, inputs, required_mm, "as_built_check.inputs")?;
    Ok(AsBuiltCheck {
        result: Some(result),
        ..check
    })
}

/// What an installed liner bears, beside a design of these inputs that requires this wall. Fields
/// that are wrong are named below the field of the measured values.
///
/// # Errors
///
/// A basis that is not the design's, and every value that the formulas do not take.
pub(crate) fn as_built_result(
    measured: &AsBuiltInputs,
    mut design: WallInputs,
    required_wall_thickness_mm: f64,
    field: &str,
) -> Result<AsBuiltResult, Problem> {
    let basis = measured
        .wall
        .as_ref()
        .map(|wall| wall.basis())
        .unwrap_or_default();
    if basis != design.thickness_basis() {
        let message = format!(
            "is {}, the design counts the {}: give wall and modulus on the design's basis",
            basis.word(),
            design.thickness_basis().word()
        );
        let field = format!("{field}.wall.basis");
        return Err(Problem::fields(vec![Violation::new(field, message)]));
    }
    design.ovality_percent = measured.ovality_percent.unwrap_or(design.ovality_percent);
    let mut result = achieved(measured, &design).map_err(|wrong| refused(field, wrong))?;
    result.required_wall_thickness_mm = required_wall_thickness_mm;
    result.findings = findings(measured, &result);
    Ok(result)
}

fn achieved(
    measured: &AsBuiltInputs,
    inputs: &WallInputs,
) -> Result<AsBuiltResult, Vec<Violation>> {
    let of_formula = |found: Problems| violations(&found);
    let design = engineering(inputs)?;
    let wall = measured.wall.unwrap_or_default().wall_thickness_mm;
    let modulus = measured.short_term_flexural_modulus_mpa;
    // The strength keeps the share that the design grants it over its life.
    let strength_retention =
        inputs.long_term_flexural_strength_mpa / inputs.short_term_flexural_strength_mpa;
    let achieved = AsBuilt {
        wall_thickness_mm: wall,
        short_term_flexural_modulus_mpa: modulus,
        long_term_flexural_modulus_mpa: modulus * inputs.modulus_retention_factor,
        long_term_flexural_strength_mpa: measured.short_term_flexural_strength_mpa
            * strength_retention,
    }
    .achieved(&design)
    .map_err(of_formula)?;
    let equivalent = EquivalentThickness {
        wall_thickness_mm: wall,
        measured_modulus_mpa: modulus,
        design_modulus_mpa: inputs.short_term_flexural_modulus_mpa,
    };
    let on_wire = |one: &obvert_engineering::back_check::AchievedSafety| AchievedSafety {
        equation: one.check.equation().to_owned(),
        station_m: one.station_m,
        capacity_mpa: one.capacity_mpa,
        demand_mpa: one.demand_mpa,
        achieved_safety_factor: one.achieved_safety_factor,
        required_safety_factor: one.required_safety_factor,
    };
    Ok(AsBuiltResult {
        checks: achieved.iter().map(on_wire).collect(),
        equivalent_wall_thickness_mm: equivalent
            .equivalent_wall_thickness_mm()
            .map_err(of_formula)?,
        ..AsBuiltResult::default()
    })
}

fn findings(measured: &AsBuiltInputs, result: &AsBuiltResult) -> Vec<Finding> {
    let mut found = Vec::new();
    for check in &result.checks {
        let (achieved, asked) = (check.achieved_safety_factor, check.required_safety_factor);
        if achieved < asked {
            let message = format!(
                "{} at station {} m reaches a factor of {achieved:.2}, the design asks for {asked}: \
                 have the engineer dispose of it in a nonconformance.",
                check.equation, check.station_m
            );
            let facts = [
                ("achieved_safety_factor", achieved),
                ("required_safety_factor", asked),
            ];
            found.push(Finding::holding("achieved-below-required", message, &facts));
        }
    }
    let wall = measured.wall.unwrap_or_default().wall_thickness_mm;
    let message = format!(
        "The measured {wall} mm are as stiff as {:.2} mm of the design's modulus, required are \
         {:.2} mm. This informs a disposition and is no acceptance.",
        result.equivalent_wall_thickness_mm, result.required_wall_thickness_mm
    );
    let facts = [(
        "equivalent_wall_thickness_mm",
        result.equivalent_wall_thickness_mm,
    )];
    found.push(Finding::note("as-built-information", message, &facts));
    found
}
