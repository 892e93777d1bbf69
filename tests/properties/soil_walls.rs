//! X1.3: inverse, scaling, and the two editions.

use obvert_engineering::ovality::OvalityReduction;
use obvert_engineering::soil_buckling::{OvalityPlace, SoilBuckling, SoilBucklingLoad};
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

use super::strategies::{place, soil};
use super::{agree, cases};

fn wall_mm(liner: SoilBuckling, place: OvalityPlace) -> f64 {
    liner.wall_thickness_mm(place).unwrap()
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn the_wall_of_x1_3_bears_exactly_its_load(liner in soil(), place in place()) {
        let back = SoilBucklingLoad {
            host_diameter_mm: liner.host_diameter_mm,
            wall_thickness_mm: wall_mm(liner, place),
            buoyancy_factor: liner.buoyancy_factor,
            elastic_support: liner.elastic_support,
            soil_modulus_mpa: liner.soil_modulus_mpa,
            long_term_flexural_modulus_mpa: liner.long_term_flexural_modulus_mpa,
            ovality_percent: liner.ovality_percent,
            safety_factor: liner.safety_factor,
        };
        prop_assert!(agree(back.external_load_mpa(place).unwrap(), liner.external_load_mpa, 1e-12));
    }

    #[test]
    fn x1_3_is_proportional_to_the_diameter(liner in soil(), place in place(), scale in 0.5..2.0) {
        let scaled = SoilBuckling { host_diameter_mm: scale * liner.host_diameter_mm, ..liner };
        prop_assert!(agree(wall_mm(scaled, place), scale * wall_mm(liner, place), 1e-12));
    }

    #[test]
    fn x1_3_follows_its_powers(liner in soil(), place in place()) {
        let wall = wall_mm(liner, place);
        let loaded = SoilBuckling { external_load_mpa: 2.0 * liner.external_load_mpa, ..liner };
        prop_assert!(agree(wall_mm(loaded, place), wall * 4.0_f64.cbrt(), 1e-12));
        let guarded = SoilBuckling { safety_factor: 2.0 * liner.safety_factor, ..liner };
        prop_assert!(agree(wall_mm(guarded, place), wall * 4.0_f64.cbrt(), 1e-12));
        let soft = SoilBuckling { soil_modulus_mpa: liner.soil_modulus_mpa / 2.0, ..liner };
        prop_assert!(agree(wall_mm(soft, place), wall * 2.0_f64.cbrt(), 1e-12));
        let modulus = liner.long_term_flexural_modulus_mpa / 8.0;
        let weak = SoilBuckling { long_term_flexural_modulus_mpa: modulus, ..liner };
        prop_assert!(agree(wall_mm(weak, place), wall * 2.0, 1e-12));
    }

    #[test]
    fn the_form_before_2007_is_thicker_by_the_cube_root_of_the_reduction(liner in soil()) {
        let ovality = OvalityReduction { ovality_percent: liner.ovality_percent };
        let root = ovality.reduction_factor().unwrap().cbrt();
        let since = wall_mm(liner, OvalityPlace::InsideRoot);
        let before = wall_mm(liner, OvalityPlace::BeforeRoot);
        prop_assert!(agree(since, before * root, 1e-12));
        let round = SoilBuckling { ovality_percent: 0.0, ..liner };
        let (since, before) = (OvalityPlace::InsideRoot, OvalityPlace::BeforeRoot);
        prop_assert!(agree(wall_mm(round, since), wall_mm(round, before), 1e-15));
    }

    #[test]
    fn x1_3_grows_with_load_and_ovality_and_shrinks_with_soil(
        liner in soil(), place in place(), more in 1.01..1.1
    ) {
        let wall = wall_mm(liner, place);
        let load = liner.external_load_mpa * more;
        let loaded = SoilBuckling { external_load_mpa: load, ..liner };
        prop_assert!(wall_mm(loaded, place) > wall);
        let ovality = (liner.ovality_percent + 0.01).min(10.0);
        let oval = SoilBuckling { ovality_percent: ovality, ..liner };
        prop_assert!(wall_mm(oval, place) >= wall);
        let soil = liner.soil_modulus_mpa * more;
        let firm = SoilBuckling { soil_modulus_mpa: soil, ..liner };
        prop_assert!(wall_mm(firm, place) < wall);
    }
    /// Any consistent unit of pressure gives the same wall, so nothing is converted twice.
    #[test]
    fn x1_3_does_not_know_its_unit_of_pressure(
        liner in soil(), place in place(), scale in 0.5..2.0
    ) {
        let scaled = SoilBuckling {
            external_load_mpa: scale * liner.external_load_mpa,
            soil_modulus_mpa: scale * liner.soil_modulus_mpa,
            long_term_flexural_modulus_mpa: scale * liner.long_term_flexural_modulus_mpa,
            ..liner
        };
        prop_assert!(agree(wall_mm(scaled, place), wall_mm(liner, place), 1e-12));
    }
    #[test]
    fn a_wall_of_half_the_diameter_is_refused_and_not_reported(liner in soil(), place in place()) {
        let crushed = SoilBuckling {
            external_load_mpa: 5.0,
            soil_modulus_mpa: 0.1,
            long_term_flexural_modulus_mpa: 50.0,
            ..liner
        };
        let refusal = crushed.wall_thickness_mm(place).expect_err("no thin ring");
        prop_assert_eq!(&refusal.0[0].field, "wall_thickness_mm");
    }
}
