//! The governing check: what more checks, other constants and other units do to a design.

use obvert_engineering::back_check::AsBuilt;
use obvert_engineering::section_demand::{ConstantsPath, DesignSection};
use obvert_engineering::wall_design::{HostCondition, WallCheck, WallDesign, WallOutcome};
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

use super::strategies::{design, section};
use super::{agree, cases};

fn evaluated(design: &WallDesign) -> WallOutcome {
    design.evaluate().unwrap()
}

fn required_mm(design: &WallDesign) -> f64 {
    evaluated(design)
        .required_wall_thickness_mm()
        .unwrap_or(0.0)
}

fn wall_of(outcome: &WallOutcome, check: WallCheck) -> f64 {
    let found = outcome.checks.iter().find(|checked| checked.check == check);
    found
        .and_then(|checked| checked.wall_thickness_mm)
        .unwrap_or(0.0)
}

fn at(design: &WallDesign, change: impl Fn(&mut DesignSection)) -> WallDesign {
    let mut changed = design.clone();
    changed.sections.iter_mut().for_each(change);
    changed
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn more_checks_and_more_sections_never_lower_the_wall(full in design(), more in section()) {
        let partial = WallDesign {
            host_condition: HostCondition::PartiallyDeteriorated,
            ..full.clone()
        };
        prop_assert!(required_mm(&full) >= required_mm(&partial));
        let mut longer = full.clone();
        longer.sections.push(more);
        prop_assert!(required_mm(&longer) >= required_mm(&full));
    }

    #[test]
    fn the_governing_check_is_the_thickest_of_all(full in design()) {
        let outcome = evaluated(&full);
        let walls = outcome.checks.iter().filter_map(|checked| checked.wall_thickness_mm);
        let thickest = walls.fold(0.0, f64::max);
        prop_assert_eq!(outcome.required_wall_thickness_mm(), Some(thickest));
        for checked in &outcome.checks {
            let reason = checked.not_applicable_reason;
            prop_assert_eq!(checked.wall_thickness_mm.is_none(), reason.is_some());
        }
    }

    #[test]
    fn us_and_si_constants_agree_to_a_fifth_of_a_percent(full in design()) {
        let us = evaluated(&WallDesign { constants: ConstantsPath::Us, ..full.clone() });
        let si = evaluated(&full);
        for (one, other) in us.checks.iter().zip(&si.checks) {
            let walls = (one.wall_thickness_mm.unwrap(), other.wall_thickness_mm.unwrap());
            prop_assert!(agree(walls.0, walls.1, 0.002), "{:?} {walls:?}", one.check);
        }
    }

    #[test]
    fn stiffness_depends_on_neither_load_nor_soil_nor_ovality_nor_safety(
        one in design(), other in design()
    ) {
        let mut changed = other;
        changed.inputs.host_diameter_mm = one.inputs.host_diameter_mm;
        let modulus = one.inputs.short_term_flexural_modulus_mpa;
        changed.inputs.short_term_flexural_modulus_mpa = modulus;
        changed.inputs.long_term_flexural_modulus_mpa = modulus / 2.0;
        let check = WallCheck::MinimumStiffness;
        // Only this check is looked at, so a weak liner that others refuse is no matter.
        if let Ok(outcome) = changed.evaluate() {
            prop_assert_eq!(wall_of(&outcome, check), wall_of(&evaluated(&one), check));
        }
    }

    #[test]
    fn directions_are_those_of_najafi_table_7_9(full in design(), more in 0.05..0.5) {
        let wet = at(&full, |section| section.groundwater_above_invert_m += more);
        let (before, after) = (evaluated(&full), evaluated(&wet));
        for check in [WallCheck::RestrainedBuckling, WallCheck::OvalBending] {
            prop_assert!(wall_of(&after, check) > wall_of(&before, check));
        }
        prop_assert!(wall_of(&after, WallCheck::SoilBuckling)
            >= wall_of(&before, WallCheck::SoilBuckling) * (1.0 - 1e-12));
        let mut oval = full.clone();
        oval.inputs.ovality_percent += more;
        prop_assert!(required_mm(&oval) >= required_mm(&full));
        let mut firm = full.clone();
        firm.inputs.soil_modulus_mpa += more;
        let check = WallCheck::SoilBuckling;
        prop_assert!(wall_of(&evaluated(&firm), check) < wall_of(&before, check));
    }

    #[test]
    fn an_installed_wall_as_required_achieves_just_the_safety_asked_for(full in design()) {
        let outcome = evaluated(&full);
        let governing = outcome.governing.unwrap();
        let as_built = AsBuilt {
            wall_thickness_mm: governing.wall_thickness_mm.unwrap().max(0.5),
            short_term_flexural_modulus_mpa: full.inputs.short_term_flexural_modulus_mpa,
            long_term_flexural_modulus_mpa: full.inputs.long_term_flexural_modulus_mpa,
            long_term_flexural_strength_mpa: full.inputs.long_term_flexural_strength_mpa,
        };
        for found in as_built.achieved(&full).unwrap() {
            let ratio = found.achieved_safety_factor / found.required_safety_factor;
            prop_assert!(ratio > 1.0 - 1e-9, "{found:?}");
            if found.check == governing.check && as_built.wall_thickness_mm > 0.5 {
                prop_assert!(agree(ratio, 1.0, 1e-9), "{found:?}");
            }
        }
    }
}
