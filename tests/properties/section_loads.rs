//! Buoyancy, elastic support and the total external load over cover and groundwater.

use obvert_engineering::elastic_support::{ElasticSupportSi, ElasticSupportUs};
use obvert_engineering::external_load::{BuoyancyFactor, ExternalLoadUs};
use obvert_engineering::soil_buckling::{OvalityPlace, SoilBuckling};
use obvert_engineering::units::mpa_from_psi;
use proptest::prelude::{Just, Strategy, prop_assert, prop_assert_eq, prop_oneof, proptest};

use super::{agree, cases};

fn buoyancy(groundwater_above_crown_m: f64, cover_m: f64) -> f64 {
    BuoyancyFactor {
        groundwater_above_crown_m,
        cover_m,
    }
    .buoyancy_factor()
    .unwrap()
}

fn support_us(cover_ft: f64) -> f64 {
    ElasticSupportUs { cover_ft }.elastic_support().unwrap()
}

fn load_psi(groundwater_above_crown_ft: f64, cover_ft: f64, soil_unit_weight_pcf: f64) -> f64 {
    ExternalLoadUs {
        groundwater_above_crown_ft,
        cover_ft,
        soil_unit_weight_pcf,
        live_load_psi: 0.0,
    }
    .external_load_psi()
    .unwrap()
}

/// Wall of a 12-in pipe by X1.3 without live load.
fn wall_mm(groundwater_above_crown_ft: f64, cover_ft: f64, soil_unit_weight_pcf: f64) -> f64 {
    SoilBuckling {
        host_diameter_mm: 304.8,
        external_load_mpa: mpa_from_psi(load_psi(
            groundwater_above_crown_ft,
            cover_ft,
            soil_unit_weight_pcf,
        )),
        buoyancy_factor: buoyancy(groundwater_above_crown_ft, cover_ft),
        elastic_support: support_us(cover_ft),
        soil_modulus_mpa: 5.0,
        long_term_flexural_modulus_mpa: 3000.0,
        ovality_percent: 2.0,
        safety_factor: 2.0,
    }
    .wall_thickness_mm(OvalityPlace::InsideRoot)
    .unwrap()
}

/// Head above the crown as a share of the cover and a fixed part in feet.
fn water_rule() -> impl Strategy<Value = (f64, f64)> {
    prop_oneof![
        Just((1.0, 0.0)),
        Just((0.5, 0.0)),
        Just((0.0, 0.0)),
        Just((0.0, 10.0))
    ]
}

#[test]
fn without_cover_the_support_is_a_fifth_and_nothing_divides_by_zero() {
    assert!(agree(support_us(0.0), 0.2, 0.0));
    assert!(agree(buoyancy(0.0, 0.0), 1.0, 0.0));
    assert!(agree(buoyancy(1.0, 0.0), 0.67, 0.0));
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn buoyancy_runs_from_one_in_the_dry_to_the_floor_under_water(
        cover_m in 0.1..60.0, head_m in 0.0..100.0
    ) {
        let factor = buoyancy(head_m, cover_m);
        prop_assert!((0.67..=1.0).contains(&factor));
        prop_assert_eq!(buoyancy(0.0, cover_m), 1.0);
        if head_m >= cover_m {
            prop_assert_eq!(factor, 0.67);
        }
    }

    #[test]
    fn elastic_support_lies_between_a_fifth_and_one_and_feet_agree_with_metres(
        cover_ft in 0.0..100.0, more in 0.01..5.0
    ) {
        let us = support_us(cover_ft);
        prop_assert!((0.2..1.0).contains(&us));
        prop_assert!(support_us(cover_ft + more) > us);
        let si = ElasticSupportSi { cover_m: cover_ft * 0.3048 }.elastic_support().unwrap();
        prop_assert!(agree(us, si, 0.001), "{us} {si}");
    }

    #[test]
    fn load_and_wall_rise_with_the_groundwater(
        cover_ft in 4.0..30.0, share in 0.0..1.4, unit_weight_pcf in 90.0..188.0
    ) {
        let (low, high) = (share * cover_ft, share * cover_ft + 0.1);
        let rise = load_psi(high, cover_ft, unit_weight_pcf)
            - load_psi(low, cover_ft, unit_weight_pcf);
        prop_assert!(rise > 0.0);
        if high <= cover_ft {
            let slope = 0.433 - 0.33 * unit_weight_pcf / 144.0;
            prop_assert!((rise / 0.1 - slope).abs() < 1e-9);
        }
        prop_assert!(
            wall_mm(high, cover_ft, unit_weight_pcf) > wall_mm(low, cover_ft, unit_weight_pcf)
        );
    }

    #[test]
    fn without_traffic_the_wall_does_not_fall_with_the_cover(
        rule in water_rule(), cover_ft in 1.0..58.0, more in 0.01..2.0,
        unit_weight_pcf in 100.0..140.0
    ) {
        let wall = |cover_ft: f64| wall_mm(rule.0 * cover_ft + rule.1, cover_ft, unit_weight_pcf);
        prop_assert!(wall(cover_ft + more) >= wall(cover_ft) * (1.0 - 1e-12));
    }

    #[test]
    fn a_soil_that_water_would_lighten_is_refused(unit_weight_pcf in 189.0..400.0) {
        let load = ExternalLoadUs {
            groundwater_above_crown_ft: 4.0,
            cover_ft: 8.0,
            soil_unit_weight_pcf: unit_weight_pcf,
            live_load_psi: 0.0,
        };
        let refusal = load.external_load_psi().expect_err("no soil weighs this");
        prop_assert_eq!(&refusal.0[0].field, "soil_unit_weight_pcf");
    }
}
