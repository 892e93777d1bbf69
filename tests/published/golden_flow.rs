//! DERIVED, our own computation: full and partial flow, least slopes, weights and winch forces.

use super::assert_near;
use super::golden::{found, gives};

/// D 200 mm, n 0.013, slope 0.004, lined with 4.2 mm of n 0.010; then 8 in in US units.
#[test]
fn full_flow_before_and_after_lining_matches_in_si_and_us() {
    let pipe = [
        ("host_diameter_mm", 200.0),
        ("total_wall_thickness_mm", 4.2),
        ("roughness_before", 0.013),
        ("roughness_after", 0.010),
        ("slope", 0.004),
    ];
    for (output, golden, by) in [
        ("flow_before_m3_per_s", 0.020_743_6, 0.6e-7),
        ("velocity_before_m_per_s", 0.660_288, 0.6e-6),
        ("flow_after_m3_per_s", 0.024_051_1, 0.6e-7),
        ("capacity_percent", 115.9448, 0.6e-4),
    ] {
        gives("lined-flow", &pipe, output, golden, by);
    }
    let us = [
        ("inside_diameter_ft", 8.0 / 12.0),
        ("roughness_n", 0.013),
        ("slope", 0.004),
    ];
    gives("full-flow-us", &us, "flow_ft3_per_s", 0.764_267, 0.6e-6);
}

/// The exact percentages behind Najafi 2010, Table 2.14, at DR 30, 40, 50 and 60.
#[test]
fn capacities_match_to_two_decimals_and_break_even_to_three() {
    let percents = [
        (0.014, [116.47, 122.10, 125.56, 127.90]),
        (0.016, [133.11, 139.55, 143.50, 146.17]),
    ];
    for (before, row) in percents {
        for (ratio, percent) in [30.0, 40.0, 50.0, 60.0].into_iter().zip(row) {
            let inputs = [
                ("dimension_ratio", ratio),
                ("roughness_before", before),
                ("roughness_after", 0.010),
            ];
            gives(
                "capacity-ratio",
                &inputs,
                "capacity_percent",
                percent,
                0.006,
            );
        }
    }
    for (ratio, roughness) in [
        (20.0, 0.755),
        (30.0, 0.832),
        (40.0, 0.872),
        (50.0, 0.897),
        (60.0, 0.914),
        (80.0, 0.935),
        (100.0, 0.948),
    ] {
        let inputs = [("dimension_ratio", ratio)];
        gives(
            "break-even-roughness",
            &inputs,
            "roughness_ratio",
            roughness,
            0.000_6,
        );
    }
}

/// Depth over diameter, then area, hydraulic radius, velocity and flow over those of the full pipe.
/// Public pages print a greatest velocity of 1.14 at 0.81 and a greatest flow at 0.94.
const PARTIAL: [[f64; 5]; 12] = [
    [0.1, 0.0520, 0.2541, 0.4012, 0.0209],
    [0.2, 0.1424, 0.4824, 0.6151, 0.0876],
    [0.3, 0.2523, 0.6838, 0.7761, 0.1958],
    [0.4, 0.3735, 0.8569, 0.9022, 0.3370],
    [0.5, 0.5, 1.0, 1.0, 0.5],
    [0.6, 0.6265, 1.1106, 1.0724, 0.6718],
    [0.7, 0.7477, 1.1849, 1.1198, 0.8372],
    [0.8, 0.8576, 1.2168, 1.1397, 0.9775],
    [0.8128, 0.8705, 1.2172, 1.1400, 0.9924],
    [0.9, 0.9480, 1.1921, 1.1243, 1.0658],
    [0.9382, 0.9744, 1.1599, 1.1040, 1.0757],
    [1.0, 1.0, 1.0, 1.0, 1.0],
];

#[test]
fn the_partly_full_pipe_matches_at_twelve_depths_and_back() {
    for [depth, area, radius, velocity, flow] in PARTIAL {
        let inputs = [("relative_depth", depth)];
        for (output, golden) in [
            ("area_ratio", area),
            ("hydraulic_radius_ratio", radius),
            ("velocity_ratio", velocity),
            ("flow_ratio", flow),
        ] {
            gives("partial-flow", &inputs, output, golden, 0.6e-4);
        }
        let flow = found("partial-flow", &inputs, "flow_ratio");
        if depth < 0.9382 {
            gives(
                "depth-for-flow",
                &[("flow_ratio", flow)],
                "relative_depth",
                depth,
                1e-9,
            );
        }
    }
    let full = [("flow_ratio", 1.0)];
    gives("depth-for-flow", &full, "relative_depth", 0.8196, 0.6e-4);
    // Above the full flow two depths carry the same: 0.9 and one near the crown.
    let twice = [(
        "flow_ratio",
        found("partial-flow", &[("relative_depth", 0.9)], "flow_ratio"),
    )];
    gives("depth-for-flow", &twice, "relative_depth", 0.9, 1e-9);
    let upper = found("depth-for-flow", &twice, "upper_relative_depth");
    let back = [("relative_depth", upper)];
    gives("partial-flow", &back, "flow_ratio", twice[0].1, 1e-12);
    assert!(upper > 0.9382 && upper < 1.0, "{upper}");
}

/// Velocities in ft/s of the slopes that the City Code of Purcell OK, 12-488, prints for n 0.013
/// (its 10 in is a misprint), and of three slopes from memory.
#[test]
fn velocities_of_twelve_printed_slopes_match() {
    for (diameter_in, slope_percent, velocity) in [
        (8.0, 0.40, 2.189),
        (10.0, 0.20, 1.797),
        (12.0, 0.22, 2.128),
        (14.0, 0.17, 2.073),
        (15.0, 0.15, 2.039),
        (16.0, 0.14, 2.056),
        (18.0, 0.12, 2.059),
        (21.0, 0.10, 2.083),
        (24.0, 0.08, 2.037),
        (27.0, 0.067, 2.016),
        (30.0, 0.058, 2.012),
        (36.0, 0.046, 2.024),
    ] {
        let pipe = [
            ("inside_diameter_ft", diameter_in / 12.0),
            ("roughness_n", 0.013),
            ("slope", slope_percent / 100.0),
        ];
        gives(
            "full-flow-us",
            &pipe,
            "velocity_ft_per_s",
            velocity,
            0.000_6,
        );
        let back = [
            ("inside_diameter_ft", diameter_in / 12.0),
            ("roughness_n", 0.013),
            ("velocity_ft_per_s", velocity),
        ];
        gives(
            "minimum-slope-us",
            &back,
            "slope",
            slope_percent / 100.0,
            2e-6,
        );
    }
}

/// Wet glass liners of 1 900 kg/m³ (common practice, no source) without films.
#[test]
fn weights_and_winch_forces_match() {
    for (diameter, wall, mass) in [(200.0, 4.2, 4.91), (300.0, 5.6, 9.84), (600.0, 9.8, 34.5)] {
        let liner = [
            ("density_kg_per_m3", 1900.0),
            ("host_diameter_mm", diameter),
            ("wall_thickness_mm", wall),
            ("films_percent", 0.0),
        ];
        let by = if mass > 30.0 { 0.06 } else { 0.006 };
        gives("liner-mass", &liner, "mass_kg_per_m", mass, by);
    }
    let force = |friction: f64, bend: f64| {
        let pull = [
            ("mass_kg_per_m", 9.84),
            ("length_m", 100.0),
            ("friction_coefficient", friction),
            ("uphill_slope_percent", 0.0),
            ("total_bend_degrees", bend),
        ];
        found("winch-force", &pull, "force_kn")
    };
    for (friction, kn) in [(0.2, 1.93), (0.3, 2.90), (0.5, 4.83), (0.7, 6.76)] {
        assert_near(force(friction, 0.0), kn, 0.006);
    }
    assert_near(force(0.3, 15.0) / force(0.3, 0.0), 1.082, 0.000_6);
    assert_near(force(0.3, 90.0) / force(0.3, 0.0), 1.602, 0.000_6);
}
