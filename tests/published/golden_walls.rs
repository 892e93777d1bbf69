//! DERIVED, our own computation on paper and in another language: walls, editions, limits, pressure
//! and cross-checks. Published by nobody; each row would change if an equation did.

use obvert_engineering::units::{mm_from_in, mpa_from_psi};

use super::assert_near;
use super::golden::{found, gives, pipe_of_48_in};

/// The 48-in pipe of Najafi 2010, pp. 76-83, under 12 ft of water above the invert, in one line:
/// the exact values that the printed ones round.
#[test]
fn the_48_inch_example_gives_its_unrounded_walls() {
    let inputs = pipe_of_48_in();
    for (output, wall_in) in [
        ("restrained_buckling_wall_mm", 0.878_10),
        ("oval_bending_wall_mm", 0.376_359),
        ("soil_buckling_wall_mm", 1.008_46),
        ("minimum_stiffness_wall_mm", 0.790_344),
    ] {
        gives(
            "gravity-wall-us",
            &inputs,
            output,
            mm_from_in(wall_in),
            3e-4,
        );
    }
    gives(
        "gravity-wall-us",
        &inputs,
        "elastic_support",
        0.414_28,
        0.6e-5,
    );
    let load = mpa_from_psi(14.947);
    gives("gravity-wall-us", &inputs, "external_load_mpa", load, 4e-6);
}

/// Exact ovality factors behind Najafi 2010, Table 2.9, and the ovality of two readings.
#[test]
fn ovality_factors_match_to_six_digits_and_the_larger_definition_counts() {
    for (percent, factor) in [
        (1.0, 0.914_066),
        (2.0, 0.835_752),
        (4.0, 0.699_220),
        (5.0, 0.639_786),
        (6.0, 0.585_529),
        (8.0, 0.490_706),
        (10.0, 0.411_501),
    ] {
        let inputs = [("ovality_percent", percent)];
        gives(
            "ovality-reduction",
            &inputs,
            "reduction_factor",
            factor,
            0.6e-6,
        );
    }
    for (most, mean, least, percent) in [
        (208.0, 202.0, 196.0, 2.970_297),
        (206.0, 200.0, 197.0, 3.0),
        (203.0, 200.0, 194.0, 3.0),
    ] {
        let inputs = [
            ("maximum_diameter_mm", most),
            ("mean_diameter_mm", mean),
            ("minimum_diameter_mm", least),
        ];
        gives("ovality", &inputs, "ovality_percent", percent, 0.6e-6);
    }
}

fn soil_wall(name: &str, ovality_percent: f64) -> f64 {
    let inputs = [
        ("host_diameter_mm", 600.0),
        ("external_load_mpa", 0.1),
        ("buoyancy_factor", 0.8),
        ("elastic_support", 0.4),
        ("soil_modulus_mpa", 5.0),
        ("long_term_flexural_modulus_mpa", 3000.0),
        ("ovality_percent", ovality_percent),
        ("safety_factor", 2.0),
    ];
    found(name, &inputs, "wall_thickness_mm")
}

/// Doherty, NASTT No-Dig 2008, abstract: the form of X1.3 since F1216-07b is thinner. By how much
/// is derived.
#[test]
fn the_form_of_x1_3_since_2007_is_thinner_by_these_shares() {
    for (ovality, thinner_percent) in [
        (1.0, 2.95),
        (2.0, 5.81),
        (3.0, 8.57),
        (4.0, 11.24),
        (5.0, 13.83),
        (10.0, 25.6),
    ] {
        let since = soil_wall("soil-buckling-wall", ovality);
        let before = soil_wall("soil-buckling-wall-before-2007", ovality);
        let by = if ovality == 10.0 { 0.06 } else { 0.006 };
        assert_near(100.0 * (1.0 - since / before), thinner_percent, by);
    }
}

/// Greatest DR by X1.4: modulus in psi, then in MPa.
#[test]
fn the_greatest_dimension_ratio_by_x1_4_depends_on_the_modulus_only() {
    let us = [
        (250e3, 60.73),
        (300e3, 64.54),
        (400e3, 71.03),
        (500e3, 76.52),
        (725e3, 86.61),
        (1000e3, 96.41),
        (1500e3, 110.36),
    ];
    let us = us.map(|(psi, ratio)| (mpa_from_psi(psi), mpa_from_psi(0.093), ratio));
    let si = [(1724.0, 60.78), (5000.0, 86.67), (10_000.0, 109.2)];
    let si = si.map(|(mpa, ratio)| (mpa, 0.000_64, ratio));
    for (modulus, limit, ratio) in us.into_iter().chain(si) {
        let inputs = [
            ("host_diameter_mm", 1000.0),
            ("short_term_flexural_modulus_mpa", modulus),
            ("stiffness_limit_mpa", limit),
        ];
        let wall_mm = found("minimum-stiffness-wall", &inputs, "wall_thickness_mm");
        assert_near(1000.0 / wall_mm, ratio, 0.06);
        if limit == 0.000_64 {
            assert_near(wall_mm, 0.1973 * 1000.0 / modulus.cbrt(), 0.01);
        }
    }
}

/// Where bending overtakes buckling in the 48-in pipe under 5.2 psi: q, E_L and σ_L in psi, then
/// the walls in inches.
#[test]
fn bending_overtakes_buckling_at_seven_percent_of_felt_and_five_of_glass() {
    for (ovality, modulus, strength, buckling_in, bending_in) in [
        (7.0, 125e3, 2250.0, 1.015, 1.036),
        (5.0, 435e3, 3900.0, 0.637, 0.663),
    ] {
        let inputs = [
            ("host_diameter_mm", mm_from_in(48.0)),
            ("groundwater_pressure_mpa", mpa_from_psi(5.2)),
            ("enhancement_factor", 7.0),
            ("long_term_flexural_modulus_mpa", mpa_from_psi(modulus)),
            ("long_term_flexural_strength_mpa", mpa_from_psi(strength)),
            ("poisson_ratio", 0.3),
            ("ovality_percent", ovality),
            ("safety_factor", 2.0),
        ];
        let wall = |output| found("partial-wall", &inputs, output) / 25.4;
        assert_near(wall("restrained_buckling_wall_mm"), buckling_in, 0.0006);
        assert_near(wall("oval_bending_wall_mm"), bending_in, 0.0006);
        assert_near(wall("required_wall_thickness_mm"), bending_in, 0.0006);
    }
}

/// D 12 in, DR 40, hole 1 in, σ_L 4 500 psi, σ_TL 3 000 psi, N 2. No published case was found.
#[test]
fn pressure_of_plate_and_ring_match() {
    gives(
        "hole-limit",
        &[("dimension_ratio", 40.0)],
        "hole_ratio",
        0.289_35,
        0.6e-5,
    );
    let plate = |hole_mm: f64| {
        let inputs = [
            ("host_diameter_mm", mm_from_in(12.0)),
            ("wall_thickness_mm", mm_from_in(12.0) / 40.0),
            ("hole_diameter_mm", hole_mm),
            ("long_term_flexural_strength_mpa", mpa_from_psi(4500.0)),
            ("safety_factor", 2.0),
        ];
        found("hole-bending", &inputs, "internal_pressure_mpa") / mpa_from_psi(1.0)
    };
    assert_near(plate(25.4), 1135.38, 0.006);
    // At the limit the plate bears 1.5916·DR/(DR − 1)²·σ_L/N.
    let at_limit = plate(0.289_348 * mm_from_in(12.0));
    assert_near(at_limit, 1.5916 * 40.0 / 39.0_f64.powi(2) * 2250.0, 0.01);
    let ring = [
        ("dimension_ratio", 40.0),
        ("long_term_tensile_strength_mpa", mpa_from_psi(3000.0)),
        ("safety_factor", 2.0),
    ];
    let ring = found("ring-tension", &ring, "internal_pressure_mpa") / mpa_from_psi(1.0);
    assert_near(ring, 78.9474, 0.6e-4);
    let wall = [
        ("host_diameter_mm", 620.0),
        ("internal_pressure_mpa", mpa_from_psi(50.0)),
        ("long_term_tensile_strength_mpa", mpa_from_psi(3000.0)),
        ("safety_factor", 2.0),
    ];
    gives(
        "ring-tension-wall",
        &wall,
        "wall_thickness_mm",
        620.0 / 62.0,
        1e-9,
    );
}

/// E 1 000 MPa, ν 0.3, 6 mm in 306 mm: X1.1 with K 7 and K 1 beside Glock, and Glock as a head.
#[test]
fn glock_stands_between_a_free_ring_times_seven_and_its_own_factor() {
    let buckling = |enhancement_factor: f64| {
        let inputs = [
            ("host_diameter_mm", 306.0),
            ("wall_thickness_mm", 6.0),
            ("enhancement_factor", enhancement_factor),
            ("long_term_flexural_modulus_mpa", 1000.0),
            ("poisson_ratio", 0.3),
            ("ovality_percent", 0.0),
            ("safety_factor", 1.0),
        ];
        found(
            "restrained-buckling-pressure",
            &inputs,
            "groundwater_pressure_mpa",
        )
    };
    assert_near(buckling(7.0), 0.123_08, 0.6e-5);
    assert_near(buckling(1.0), 0.017_58, 0.6e-5);
    let liner = [
        ("host_diameter_mm", 306.0),
        ("wall_thickness_mm", 6.0),
        ("flexural_modulus_mpa", 1000.0),
        ("poisson_ratio", 0.3),
    ];
    let glock = found("rigid-encasement-pressure", &liner, "critical_pressure_mpa");
    assert_near(glock / 0.009_81, 20.49, 0.006);
    for (ratio, factor) in [
        (20.0, 5.3),
        (28.08, 7.0),
        (30.0, 7.4),
        (40.0, 9.4),
        (50.0, 11.3),
        (60.0, 13.1),
        (80.0, 16.5),
        (100.0, 19.8),
    ] {
        let inputs = [("dimension_ratio", ratio)];
        gives(
            "equivalent-enhancement",
            &inputs,
            "enhancement_factor",
            factor,
            0.06,
        );
    }
    // Thepot's general form gives a circle with one lobe 1.0019 times Glock.
    let circle = [
        ("lobe_count", 1.0),
        ("perimeter_mm", std::f64::consts::PI * 300.0),
        ("lobe_radius_mm", 150.0),
        ("wall_thickness_mm", 6.0),
        ("flexural_modulus_mpa", 1000.0),
        ("poisson_ratio", 0.3),
    ];
    let thepot = found("perfect-shape-pressure", &circle, "critical_pressure_mpa");
    assert_near(thepot / glock, 1.0019, 0.6e-4);
}

/// Order, tolerance and equivalent thickness; 3.519 mm orders 4.2 mm and not 3.5 mm.
#[test]
fn orders_tolerances_and_equivalent_walls_match() {
    for (required, ordered) in [(3.519, 4.2), (2.346, 3.5), (5.233, 5.6), (10.465, 10.5)] {
        let inputs = [
            ("required_wall_thickness_mm", required),
            ("minimum_wall_thickness_mm", 3.5),
            ("wall_step_mm", 0.7),
        ];
        gives(
            "order-wall",
            &inputs,
            "order_wall_thickness_mm",
            ordered,
            0.0,
        );
    }
    for (tolerance, nominal) in [(5.0, 5.263), (12.5, 5.714), (20.0, 6.250)] {
        let inputs = [
            ("required_wall_thickness_mm", 5.0),
            ("tolerance_percent", tolerance),
        ];
        gives(
            "toleranced-wall",
            &inputs,
            "nominal_wall_thickness_mm",
            nominal,
            0.000_6,
        );
    }
    let tube = [
        ("required_wall_thickness_mm", 4.0),
        ("made_diameter_mm", 200.0),
        ("installed_diameter_mm", 210.0),
        ("tolerance_percent", 12.5),
    ];
    gives(
        "nominal-wall",
        &tube,
        "nominal_wall_thickness_mm",
        4.8,
        1e-9,
    );
    let hole = [
        ("host_diameter_mm", mm_from_in(12.0)),
        ("hole_diameter_mm", mm_from_in(1.0)),
        ("internal_pressure_mpa", mpa_from_psi(1135.38)),
        ("long_term_flexural_strength_mpa", mpa_from_psi(4500.0)),
        ("safety_factor", 2.0),
    ];
    gives(
        "hole-bending-wall",
        &hole,
        "wall_thickness_mm",
        mm_from_in(12.0) / 40.0,
        1e-4,
    );
    let liner = [
        ("wall_thickness_mm", 4.0),
        ("measured_modulus_mpa", 11_000.0),
        ("design_modulus_mpa", 10_000.0),
    ];
    gives(
        "equivalent-wall",
        &liner,
        "equivalent_wall_thickness_mm",
        4.129,
        0.000_6,
    );
}
