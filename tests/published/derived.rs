//! Golden values that are DERIVED: our own independent computation to six digits, published by
//! nobody. They hold the SI path, of which no worked example could be read.

use obvert_engineering::encased_buckling::{EquivalentEnhancement, RigidEncasement};
use obvert_engineering::full_flow::FullFlow;
use obvert_engineering::partial_flow::{DepthForFlow, PartialFlow};
use obvert_engineering::section_demand::{ConstantsPath, DesignSection};
use obvert_engineering::soil_buckling::OvalityPlace;
use obvert_engineering::wall_design::{HostCondition, WallDesign, WallInputs};

use super::assert_near;

fn si_design(inputs: WallInputs, section: DesignSection) -> WallDesign {
    WallDesign {
        constants: ConstantsPath::Si,
        ovality_place: OvalityPlace::InsideRoot,
        host_condition: HostCondition::FullyDeteriorated,
        inputs,
        sections: vec![section],
    }
}

/// Walls of X1.1, X1.2, X1.3 and X1.4 in this order.
fn assert_walls(design: &WallDesign, expected_mm: [f64; 4]) {
    let outcome = design.evaluate().unwrap();
    for (checked, expected) in outcome.checks.iter().zip(expected_mm) {
        assert_near(checked.wall_thickness_mm.unwrap(), expected, 0.6e-4);
    }
}

/// The SI twin of Najafi's example; US and SI differ by 0.05 percent, as their constants do.
#[test]
fn the_si_twin_of_the_48_inch_example_matches() {
    let inputs = WallInputs {
        host_diameter_mm: 1219.2,
        ovality_percent: 2.0,
        enhancement_factor: 7.0,
        short_term_flexural_modulus_mpa: 1723.69,
        long_term_flexural_modulus_mpa: 861.845,
        long_term_flexural_strength_mpa: 31.0264,
        poisson_ratio: 0.3,
        safety_factor: 2.0,
        soil_unit_weight_kn_per_m3: 18.8505,
        soil_modulus_mpa: 6.89476,
    };
    let section = DesignSection {
        station_m: 0.0,
        cover_m: 4.8768,
        groundwater_above_invert_m: 2.4384 + 1.2192,
        live_load_mpa: 0.002_413_16,
    };
    let design = si_design(inputs, section);
    let demand = design.evaluate().unwrap().demands[0];
    assert_near(demand.external_load_mpa, 0.103_096, 0.6e-6);
    assert_near(demand.elastic_support, 0.413_980, 0.6e-6);
    assert_near(demand.groundwater_pressure_mpa, 0.035_881_1, 0.6e-7);
    assert_walls(&design, [22.3094, 9.5630, 25.6272, 20.0621]);
}

/// Columns: D, H, H_w, retention, E′, then P, q_t, R_w, B′ and the four walls.
const SI_CASES: [([f64; 5], [f64; 4], [f64; 4]); 2] = [
    (
        [200.0, 3.0, 3.0, 0.5, 5.0],
        [0.031392, 0.067319, 0.670, 0.32141],
        [2.4692, 1.3083, 2.8914, 2.3076],
    ),
    (
        [250.0, 2.5, 1.25, 0.6, 3.5],
        [0.014715, 0.051612, 0.835, 0.29864],
        [2.2637, 1.1402, 3.0557, 2.8845],
    ),
];

#[test]
fn two_si_cases_of_glass_liners_match() {
    for ([diameter_mm, cover_m, head_m, retention, soil_modulus_mpa], factors, walls) in SI_CASES {
        let inputs = WallInputs {
            host_diameter_mm: diameter_mm,
            ovality_percent: 2.0,
            enhancement_factor: 7.0,
            short_term_flexural_modulus_mpa: 5000.0,
            long_term_flexural_modulus_mpa: 5000.0 * retention,
            long_term_flexural_strength_mpa: 40.0,
            poisson_ratio: 0.3,
            safety_factor: 2.0,
            soil_unit_weight_kn_per_m3: 18.85,
            soil_modulus_mpa,
        };
        let section = DesignSection {
            station_m: 0.0,
            cover_m,
            groundwater_above_invert_m: head_m + diameter_mm / 1000.0,
            live_load_mpa: 0.0,
        };
        let design = si_design(inputs, section);
        let demand = design.evaluate().unwrap().demands[0];
        assert_near(demand.groundwater_pressure_mpa, factors[0], 0.6e-6);
        assert_near(demand.external_load_mpa, factors[1], 0.6e-6);
        assert_near(demand.buoyancy_factor, factors[2], 0.6e-3);
        assert_near(demand.elastic_support, factors[3], 0.6e-5);
        assert_walls(&design, walls);
    }
}

#[test]
fn glock_and_its_enhancement_factor_match() {
    let liner = RigidEncasement {
        host_diameter_mm: 306.0,
        wall_thickness_mm: 6.0,
        flexural_modulus_mpa: 1000.0,
        poisson_ratio: 0.3,
    };
    assert_near(liner.critical_pressure_mpa().unwrap(), 0.201_01, 0.6e-5);
    for (dimension_ratio, factor) in [(20.0, 5.3), (28.08, 7.0), (60.0, 13.1), (100.0, 19.8)] {
        let found = EquivalentEnhancement { dimension_ratio }
            .enhancement_factor()
            .unwrap();
        assert_near(found, factor, 0.06);
    }
}

#[test]
fn full_and_partial_flow_match() {
    let before = FullFlow {
        inside_diameter_m: 0.2,
        roughness_n: 0.013,
        slope: 0.004,
    };
    let after = FullFlow {
        inside_diameter_m: 0.1916,
        roughness_n: 0.010,
        slope: 0.004,
    };
    assert_near(before.flow_m3_per_s().unwrap(), 0.020_743_6, 0.6e-7);
    assert_near(after.flow_m3_per_s().unwrap(), 0.024_051_1, 0.6e-7);
    for (relative_depth, velocity, flow) in [
        (0.1, 0.4012, 0.0209),
        (0.3, 0.7761, 0.1958),
        (0.7, 1.1198, 0.8372),
        (0.9, 1.1243, 1.0658),
    ] {
        let pipe = PartialFlow { relative_depth };
        assert_near(pipe.velocity_ratio().unwrap(), velocity, 0.6e-4);
        assert_near(pipe.flow_ratio().unwrap(), flow, 0.6e-4);
    }
    assert_near(
        DepthForFlow { flow_ratio: 1.0 }.relative_depth().unwrap(),
        0.8196,
        0.6e-4,
    );
    assert!(DepthForFlow { flow_ratio: 1.08 }.relative_depth().is_err());
}
