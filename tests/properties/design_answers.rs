//! What a design answers at the edges: no water, round pipe, and inputs that cannot be.

use obvert_engineering::back_check::AsBuilt;
use obvert_engineering::section_demand::{ConstantsPath, DesignSection};
use obvert_engineering::soil_buckling::OvalityPlace;
use obvert_engineering::wall_design::{HostCondition, WallCheck, WallDesign, WallInputs};

fn dry_design(host_condition: HostCondition) -> WallDesign {
    WallDesign {
        constants: ConstantsPath::Si,
        ovality_place: OvalityPlace::InsideRoot,
        host_condition,
        inputs: WallInputs {
            host_diameter_mm: 300.0,
            ovality_percent: 2.0,
            enhancement_factor: 7.0,
            short_term_flexural_modulus_mpa: 10_000.0,
            long_term_flexural_modulus_mpa: 6000.0,
            long_term_flexural_strength_mpa: 100.0,
            poisson_ratio: 0.3,
            safety_factor: 2.0,
            soil_unit_weight_kn_per_m3: 18.85,
            soil_modulus_mpa: 5.0,
        },
        sections: vec![DesignSection {
            station_m: 12.0,
            cover_m: 3.0,
            groundwater_above_invert_m: 0.0,
            live_load_mpa: 0.0,
        }],
    }
}

#[test]
fn a_dry_partially_deteriorated_pipe_has_no_governing_check_and_says_why() {
    let outcome = dry_design(HostCondition::PartiallyDeteriorated)
        .evaluate()
        .unwrap();
    assert_eq!(outcome.required_wall_thickness_mm(), None);
    assert_eq!(outcome.dry_limit_wall_thickness_mm, Some(3.0));
    for checked in &outcome.checks {
        let reason = checked.not_applicable_reason.expect("no check applies");
        assert!(reason.contains("no groundwater"), "{reason}");
    }
}

#[test]
fn a_dry_fully_deteriorated_pipe_is_governed_by_soil_or_stiffness() {
    let outcome = dry_design(HostCondition::FullyDeteriorated)
        .evaluate()
        .unwrap();
    let governing = outcome.governing.expect("two checks apply");
    assert!(matches!(
        governing.check,
        WallCheck::SoilBuckling | WallCheck::MinimumStiffness
    ));
    assert!(outcome.demands[0].buoyancy_factor == 1.0);
}

#[test]
fn a_round_pipe_skips_bending_and_says_why() {
    let mut design = dry_design(HostCondition::PartiallyDeteriorated);
    design.inputs.ovality_percent = 0.0;
    design.sections[0].groundwater_above_invert_m = 2.0;
    let outcome = design.evaluate().unwrap();
    assert_eq!(
        outcome.governing.map(|found| found.check),
        Some(WallCheck::RestrainedBuckling)
    );
    assert_eq!(outcome.checks[1].wall_thickness_mm, None);
    assert_eq!(
        outcome.checks[1].not_applicable_reason,
        Some("The host pipe is round.")
    );
    assert_eq!(outcome.dry_limit_wall_thickness_mm, None);
}

#[test]
fn all_that_is_wrong_with_a_design_is_said_at_once() {
    let mut design = dry_design(HostCondition::FullyDeteriorated);
    design.inputs.ovality_percent = 12.0;
    design.inputs.long_term_flexural_modulus_mpa = 12_000.0;
    let section = design.sections[0];
    design.sections.push(DesignSection {
        cover_m: -1.0,
        live_load_mpa: f64::NAN,
        ..section
    });
    let problems = design.evaluate().expect_err("four inputs are wrong");
    let fields: Vec<&str> = problems
        .0
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(
        fields,
        [
            "ovality_percent",
            "long_term_flexural_modulus_mpa",
            "sections[1].cover_m",
            "sections[1].live_load_mpa",
        ]
    );
    design.sections.clear();
    assert!(
        design
            .evaluate()
            .unwrap_err()
            .to_string()
            .contains("sections is 0")
    );
}

#[test]
fn a_thin_installed_wall_is_an_answer_below_the_safety_asked_for() {
    let mut design = dry_design(HostCondition::FullyDeteriorated);
    design.sections[0].groundwater_above_invert_m = 3.3;
    let required_mm = design
        .evaluate()
        .unwrap()
        .required_wall_thickness_mm()
        .unwrap();
    let as_built = AsBuilt {
        wall_thickness_mm: 0.9 * required_mm,
        short_term_flexural_modulus_mpa: 10_000.0,
        long_term_flexural_modulus_mpa: 6000.0,
        long_term_flexural_strength_mpa: 100.0,
    };
    let achieved = as_built.achieved(&design).unwrap();
    assert_eq!(achieved.len(), 4);
    assert!(achieved.iter().any(|found| !found.is_met()));
}
