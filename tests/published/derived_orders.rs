//! DERIVED, our own computation: whole designs on the US path by the criteria of one owner (City
//! of Nashua NH 2019, section 02651), from the loads to the wall that is ordered.

use obvert_engineering::live_load::HighwayLiveLoad;
use obvert_engineering::order_thickness::OrderThickness;
use obvert_engineering::section_demand::{ConstantsPath, DesignSection};
use obvert_engineering::soil_buckling::OvalityPlace;
use obvert_engineering::units::{kn_per_m3_from_pcf, m_from_ft, mm_from_in, mpa_from_psi};
use obvert_engineering::wall_design::{HostCondition, WallCheck, WallDesign, WallInputs};

use super::assert_near;

/// Properties of a liner and its soil in psi: E, E_L, σ_L, E′.
type Psi = [f64; 4];

const FELT: Psi = [250_000.0, 125_000.0, 4500.0, 500.0];
const GLASS: Psi = [725_000.0, 435_000.0, 3900.0, 1000.0];

fn section(diameter_in: f64, cover_ft: f64) -> DesignSection {
    let live_load_psi = HighwayLiveLoad { cover_ft }.live_load_psi().unwrap();
    DesignSection {
        station_m: cover_ft,
        cover_m: m_from_ft(cover_ft),
        groundwater_above_invert_m: m_from_ft(cover_ft + diameter_in / 12.0),
        live_load_mpa: mpa_from_psi(live_load_psi),
    }
}

fn design(diameter_in: f64, liner: Psi, sections: Vec<DesignSection>) -> WallDesign {
    WallDesign {
        constants: ConstantsPath::Us,
        ovality_place: OvalityPlace::InsideRoot,
        host_condition: HostCondition::FullyDeteriorated,
        inputs: WallInputs {
            host_diameter_mm: mm_from_in(diameter_in),
            ovality_percent: 2.0,
            enhancement_factor: 7.0,
            short_term_flexural_modulus_mpa: mpa_from_psi(liner[0]),
            long_term_flexural_modulus_mpa: mpa_from_psi(liner[1]),
            long_term_flexural_strength_mpa: mpa_from_psi(liner[2]),
            poisson_ratio: 0.3,
            safety_factor: 2.0,
            soil_unit_weight_kn_per_m3: kn_per_m3_from_pcf(120.0),
            soil_modulus_mpa: mpa_from_psi(liner[3]),
        },
        sections,
    }
}

fn ordered_mm(required_wall_thickness_mm: f64) -> f64 {
    OrderThickness {
        required_wall_thickness_mm,
        minimum_wall_thickness_mm: 3.5,
        wall_step_mm: 0.7,
    }
    .order_wall_thickness_mm()
    .unwrap()
}

/// Diameter in inches, cover in feet, walls of X1.1, X1.2, X1.3, X1.4 in mm, ordered wall.
const FELT_CASES: [(f64, f64, [f64; 4], f64); 6] = [
    (8.0, 6.0, [3.066, 1.209, 4.156, 3.346], 4.2),
    (8.0, 10.0, [3.577, 1.508, 4.779, 3.346], 4.9),
    (8.0, 20.0, [4.440, 2.046, 6.660, 3.346], 7.0),
    (12.0, 10.0, [5.419, 2.295, 7.168, 5.019], 7.7),
    (12.0, 20.0, [6.694, 3.091, 9.991, 5.019], 10.5),
    (18.0, 15.0, [9.282, 4.153, 13.147, 7.528], 13.3),
];

#[test]
fn six_felt_designs_match_check_by_check_and_as_ordered() {
    for (diameter_in, cover_ft, walls, order) in FELT_CASES {
        let outcome = design(diameter_in, FELT, vec![section(diameter_in, cover_ft)])
            .evaluate()
            .unwrap();
        for (checked, wall) in outcome.checks.iter().zip(walls) {
            assert_near(checked.wall_thickness_mm.unwrap(), wall, 0.000_6);
        }
        assert_eq!(
            ordered_mm(outcome.required_wall_thickness_mm().unwrap()),
            order
        );
    }
}

/// Diameter, cover, walls of the checks in their order (X1.4 only where it governs), governing
/// check, ordered wall.
const GLASS_CASES: [(f64, f64, &[f64], WallCheck, f64); 4] = [
    (
        8.0,
        6.0,
        &[2.034, 1.294, 2.177, 2.346],
        WallCheck::MinimumStiffness,
        3.5,
    ),
    (
        12.0,
        6.0,
        &[3.100, 1.985, 3.265, 3.519],
        WallCheck::MinimumStiffness,
        4.2,
    ),
    (
        12.0,
        20.0,
        &[4.451, 3.298, 5.233],
        WallCheck::SoilBuckling,
        5.6,
    ),
    (
        24.0,
        20.0,
        &[9.039, 6.735, 10.465],
        WallCheck::SoilBuckling,
        10.5,
    ),
];

#[test]
fn four_glass_designs_name_the_governing_check_and_never_round_down() {
    for (diameter_in, cover_ft, walls, check, order) in GLASS_CASES {
        let outcome = design(diameter_in, GLASS, vec![section(diameter_in, cover_ft)])
            .evaluate()
            .unwrap();
        for (checked, wall) in outcome.checks.iter().zip(walls) {
            assert_near(checked.wall_thickness_mm.unwrap(), *wall, 0.000_6);
        }
        let required = walls.iter().copied().fold(0.0, f64::max);
        assert_near(
            outcome.required_wall_thickness_mm().unwrap(),
            required,
            0.000_6,
        );
        assert_eq!(outcome.governing.unwrap().check, check);
        assert_eq!(ordered_mm(required), order);
    }
}

/// Cover in feet and the wall of X1.3 under a truck: thickest at the shallowest section.
const UNDER_A_TRUCK: [(f64, f64); 8] = [
    (1.0, 5.38),
    (2.0, 3.59),
    (3.0, 3.40),
    (4.0, 3.22),
    (5.0, 3.15),
    (6.0, 3.30),
    (10.0, 3.79),
    (20.0, 5.29),
];

#[test]
fn under_a_truck_the_shallowest_section_may_govern() {
    let liner = [250_000.0, 125_000.0, 4500.0, 1000.0];
    for (cover_ft, wall_mm) in UNDER_A_TRUCK {
        let outcome = design(8.0, liner, vec![section(8.0, cover_ft)])
            .evaluate()
            .unwrap();
        assert_near(outcome.checks[2].wall_thickness_mm.unwrap(), wall_mm, 0.006);
    }
    let sections = [10.0, 1.0, 5.0]
        .map(|cover_ft| section(8.0, cover_ft))
        .to_vec();
    let outcome = design(8.0, liner, sections).evaluate().unwrap();
    let governing = outcome.governing.unwrap();
    assert_eq!(
        (governing.check, governing.station_m),
        (WallCheck::SoilBuckling, 1.0)
    );
}
