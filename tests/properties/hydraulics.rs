//! Full and partial flow.

use obvert_engineering::capacity::{BreakEvenRoughness, CapacityRatio};
use obvert_engineering::full_flow::FullFlow;
use obvert_engineering::partial_flow::{DEPTH_OF_LARGEST_FLOW, DepthForFlow, PartialFlow};
use proptest::prelude::{prop_assert, proptest};

use super::{agree, cases};

fn capacity(dimension_ratio: f64, roughness_before: f64, roughness_after: f64) -> f64 {
    CapacityRatio {
        dimension_ratio,
        roughness_before,
        roughness_after,
    }
    .capacity_percent()
    .unwrap()
}

fn flow(relative_depth: f64) -> f64 {
    PartialFlow { relative_depth }.flow_ratio().unwrap()
}

#[test]
fn half_full_carries_half_the_flow_at_the_full_velocity() {
    assert!(agree(flow(0.5), 0.5, 1e-15));
    assert!(agree(
        PartialFlow {
            relative_depth: 0.5
        }
        .velocity_ratio()
        .unwrap(),
        1.0,
        1e-15
    ));
    assert!(agree(flow(1.0), 1.0, 1e-15));
    assert!(flow(0.0).abs() < 1e-300);
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn capacity_grows_with_the_dimension_ratio_towards_the_ratio_of_roughnesses(
        dimension_ratio in 10.0..400.0, before in 0.011..0.03, after in 0.008..0.011
    ) {
        let limit = 100.0 * before / after;
        let found = capacity(dimension_ratio, before, after);
        prop_assert!(found < limit);
        prop_assert!(capacity(dimension_ratio * 1.01, before, after) > found);
        prop_assert!(agree(capacity(1000.0, before, after), limit, 0.006));
        let even = BreakEvenRoughness { dimension_ratio }.roughness_ratio().unwrap();
        if before * even >= 0.005 {
            prop_assert!(agree(capacity(dimension_ratio, before, before * even), 100.0, 1e-12));
        }
    }

    #[test]
    fn the_capacity_ratio_is_that_of_two_full_flows(
        diameter_m in 0.1..2.0, dimension_ratio in 10.0..100.0, slope in 0.001..0.05
    ) {
        let before = FullFlow { inside_diameter_m: diameter_m, roughness_n: 0.013, slope };
        let bore = diameter_m * (1.0 - 2.0 / dimension_ratio);
        let after = FullFlow { inside_diameter_m: bore, roughness_n: 0.010, slope };
        let ratio = 100.0 * after.flow_m3_per_s().unwrap() / before.flow_m3_per_s().unwrap();
        prop_assert!(agree(ratio, capacity(dimension_ratio, 0.013, 0.010), 1e-12));
    }

    #[test]
    fn the_areas_of_two_depths_that_fill_the_pipe_make_the_full_area(depth in 0.0..=1.0) {
        let area = |relative_depth| PartialFlow { relative_depth }.area_ratio().unwrap();
        prop_assert!((area(depth) + area(1.0 - depth) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn no_depth_carries_more_than_1_0757_times_the_full_flow(depth in 0.0..=1.0) {
        prop_assert!(flow(depth) <= 1.075_71);
        prop_assert!(flow(depth) <= flow(DEPTH_OF_LARGEST_FLOW) + 1e-15);
    }

    #[test]
    fn the_depth_found_for_a_flow_carries_it_and_is_the_lower_one(ratio in 0.0..1.0757) {
        let depth = DepthForFlow { flow_ratio: ratio }.relative_depth().unwrap();
        prop_assert!((flow(depth) - ratio).abs() < 1e-9);
        prop_assert!(depth <= DEPTH_OF_LARGEST_FLOW);
    }
}
