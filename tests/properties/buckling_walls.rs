//! X1.1 and X1.2: inverses, scaling and direction.

use obvert_engineering::bending::{OvalBending, OvalBendingPressure};
use obvert_engineering::buckling::{RestrainedBuckling, RestrainedBucklingPressure};
use obvert_engineering::encased_buckling::{
    EquivalentEnhancement, RigidEncasement, RigidEncasementWall,
};
use proptest::prelude::{prop_assert, proptest};

use super::strategies::{bending, restrained};
use super::{agree, cases};

fn restrained_mm(liner: RestrainedBuckling) -> f64 {
    liner.wall_thickness_mm().unwrap()
}

fn bending_mm(liner: OvalBending) -> f64 {
    liner
        .wall_thickness_mm()
        .unwrap()
        .expect("the pipe is oval")
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn the_wall_of_x1_1_bears_exactly_its_pressure(liner in restrained()) {
        let back = RestrainedBucklingPressure {
            host_diameter_mm: liner.host_diameter_mm,
            wall_thickness_mm: restrained_mm(liner),
            enhancement_factor: liner.enhancement_factor,
            long_term_flexural_modulus_mpa: liner.long_term_flexural_modulus_mpa,
            poisson_ratio: liner.poisson_ratio,
            ovality_percent: liner.ovality_percent,
            safety_factor: liner.safety_factor,
        };
        let pressure_mpa = back.groundwater_pressure_mpa().unwrap();
        prop_assert!(agree(pressure_mpa, liner.groundwater_pressure_mpa, 1e-12));
    }

    #[test]
    fn the_wall_of_x1_2_bears_exactly_its_pressure(liner in bending()) {
        let back = OvalBendingPressure {
            host_diameter_mm: liner.host_diameter_mm,
            wall_thickness_mm: bending_mm(liner),
            long_term_flexural_strength_mpa: liner.long_term_flexural_strength_mpa,
            ovality_percent: liner.ovality_percent,
            safety_factor: liner.safety_factor,
        };
        let pressure_mpa = back.groundwater_pressure_mpa().unwrap().expect("bending limits it");
        // Two terms of the quadratic cancel, which costs digits.
        prop_assert!(agree(pressure_mpa, liner.groundwater_pressure_mpa, 1e-11));
    }

    #[test]
    fn x1_1_and_x1_2_are_proportional_to_the_diameter(
        one in restrained(), other in bending(), scale in 0.5..2.0
    ) {
        let scaled = RestrainedBuckling { host_diameter_mm: scale * one.host_diameter_mm, ..one };
        prop_assert!(agree(restrained_mm(scaled), scale * restrained_mm(one), 1e-12));
        let scaled = OvalBending { host_diameter_mm: scale * other.host_diameter_mm, ..other };
        prop_assert!(agree(bending_mm(scaled), scale * bending_mm(other), 1e-12));
    }

    #[test]
    fn x1_1_takes_enhancement_and_modulus_and_pressure_and_safety_only_as_products(
        liner in restrained(), scale in 0.5..2.0
    ) {
        let wall_mm = restrained_mm(liner);
        let strong = RestrainedBuckling {
            enhancement_factor: liner.enhancement_factor * scale,
            long_term_flexural_modulus_mpa: liner.long_term_flexural_modulus_mpa / scale,
            ..liner
        };
        prop_assert!(agree(restrained_mm(strong), wall_mm, 1e-12));
        let loaded = RestrainedBuckling {
            groundwater_pressure_mpa: liner.groundwater_pressure_mpa / scale,
            safety_factor: (liner.safety_factor + 1.0) * scale,
            ..liner
        };
        let same = RestrainedBuckling { safety_factor: liner.safety_factor + 1.0, ..liner };
        prop_assert!(agree(restrained_mm(loaded), restrained_mm(same), 1e-12));
    }

    #[test]
    fn x1_1_vanishes_with_the_pressure_and_is_never_half_the_diameter(liner in restrained()) {
        let calm = RestrainedBuckling { groundwater_pressure_mpa: 0.000_001, ..liner };
        prop_assert!(restrained_mm(calm) < 0.02 * liner.host_diameter_mm);
        prop_assert!(restrained_mm(calm) < restrained_mm(liner));
        let weak = RestrainedBuckling {
            groundwater_pressure_mpa: 2.0,
            enhancement_factor: 1.0,
            long_term_flexural_modulus_mpa: 50.0,
            safety_factor: 10.0,
            ..liner
        };
        prop_assert!(restrained_mm(weak) < liner.host_diameter_mm / 2.0);
    }

    #[test]
    fn x1_2_grows_with_ovality_and_pressure_and_shrinks_with_strength(
        liner in bending(), more in 1.01..1.1
    ) {
        let wall_mm = bending_mm(liner);
        let oval = OvalBending { ovality_percent: liner.ovality_percent * more, ..liner };
        prop_assert!(bending_mm(oval) > wall_mm);
        let pressure = liner.groundwater_pressure_mpa * more;
        let loaded = OvalBending { groundwater_pressure_mpa: pressure, ..liner };
        prop_assert!(bending_mm(loaded) > wall_mm);
        let strength = liner.long_term_flexural_strength_mpa * more;
        let strong = OvalBending { long_term_flexural_strength_mpa: strength, ..liner };
        prop_assert!(bending_mm(strong) < wall_mm);
    }

    #[test]
    fn x1_2_tends_to_three_times_the_ovality_of_the_diameter(liner in bending()) {
        let ovality_percent = 0.000_000_01;
        let round = bending_mm(OvalBending { ovality_percent, ..liner });
        let limit = 3.0 * ovality_percent / 100.0 * liner.host_diameter_mm;
        prop_assert!(agree(round, limit, 0.01), "{round} {limit}");
    }

    #[test]
    fn glock_is_x1_1_with_the_equivalent_enhancement_factor(
        diameter_mm in 100.0..2000.0, dimension_ratio in 10.0..150.0, modulus in 500.0..20_000.0,
        poisson_ratio in 0.0..0.45
    ) {
        let wall_thickness_mm = diameter_mm / dimension_ratio;
        let glock = RigidEncasement {
            host_diameter_mm: diameter_mm,
            wall_thickness_mm,
            flexural_modulus_mpa: modulus,
            poisson_ratio,
        };
        let pressure_mpa = glock.critical_pressure_mpa().unwrap();
        let restrained = RestrainedBucklingPressure {
            host_diameter_mm: diameter_mm,
            wall_thickness_mm,
            enhancement_factor: EquivalentEnhancement { dimension_ratio }
                .enhancement_factor()
                .unwrap(),
            long_term_flexural_modulus_mpa: modulus,
            poisson_ratio,
            ovality_percent: 0.0,
            safety_factor: 1.0,
        };
        prop_assert!(agree(restrained.groundwater_pressure_mpa().unwrap(), pressure_mpa, 1e-12));
        let back = RigidEncasementWall {
            host_diameter_mm: diameter_mm,
            groundwater_pressure_mpa: pressure_mpa.min(2.0),
            flexural_modulus_mpa: modulus,
            poisson_ratio,
            imperfection_factor: 1.0,
            safety_factor: 1.0,
        };
        if pressure_mpa <= 2.0 {
            prop_assert!(agree(back.wall_thickness_mm().unwrap(), wall_thickness_mm, 1e-12));
        }
    }
}

proptest! {
    #![proptest_config(cases())]

    /// Any consistent unit of pressure gives the same wall, so nothing is converted twice.
    #[test]
    fn x1_1_and_x1_2_do_not_know_their_unit_of_pressure(
        one in restrained(), other in bending(), scale in 0.5..2.0
    ) {
        let scaled = RestrainedBuckling {
            groundwater_pressure_mpa: scale * one.groundwater_pressure_mpa,
            long_term_flexural_modulus_mpa: scale * one.long_term_flexural_modulus_mpa,
            ..one
        };
        prop_assert!(agree(restrained_mm(scaled), restrained_mm(one), 1e-12));
        let scaled = OvalBending {
            groundwater_pressure_mpa: scale * other.groundwater_pressure_mpa,
            long_term_flexural_strength_mpa: scale * other.long_term_flexural_strength_mpa,
            ..other
        };
        prop_assert!(agree(bending_mm(scaled), bending_mm(other), 1e-12));
    }
}
