//! The ovality factor C, and X1.4.

use obvert_engineering::ovality::{Ovality, OvalityReduction};
use obvert_engineering::stiffness::{MinimumStiffness, RingStiffness};
use proptest::prelude::{prop_assert, proptest};

use super::{agree, cases};

fn factor(ovality_percent: f64) -> f64 {
    OvalityReduction { ovality_percent }
        .reduction_factor()
        .unwrap()
}

#[test]
fn a_round_pipe_keeps_the_whole_resistance() {
    assert!(agree(factor(0.0), 1.0, 0.0));
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn the_reduction_factor_falls_with_ovality_and_its_cube_root_is_known(
        ovality_percent in 0.0..9.9, more in 0.001..0.1
    ) {
        prop_assert!(factor(ovality_percent + more) < factor(ovality_percent));
        let delta = ovality_percent / 100.0;
        let root = (1.0 - delta) / (1.0 + delta).powi(2);
        prop_assert!(agree(factor(ovality_percent).cbrt(), root, 1e-14));
    }

    #[test]
    fn two_diameters_about_their_mean_give_one_ovality(
        mean in 100.0..2000.0, half_spread in 0.0..0.1
    ) {
        let ovality = Ovality {
            maximum_diameter_mm: mean * (1.0 + half_spread),
            mean_diameter_mm: mean,
            minimum_diameter_mm: mean * (1.0 - half_spread),
        };
        let found = ovality.ovality_percent().unwrap();
        prop_assert!(agree(1.0 + found, 1.0 + 100.0 * half_spread, 1e-10));
    }

    #[test]
    fn x1_4_follows_the_cube_root_of_the_modulus_and_gives_its_limit_back(
        diameter_mm in 100.0..2000.0, modulus in 500.0..40_000.0, limit in 0.0005..0.001
    ) {
        let liner = MinimumStiffness {
            host_diameter_mm: diameter_mm,
            short_term_flexural_modulus_mpa: modulus,
            stiffness_limit_mpa: limit,
        };
        let wall_mm = liner.wall_thickness_mm().unwrap();
        let weak = MinimumStiffness { short_term_flexural_modulus_mpa: modulus / 8.0, ..liner };
        prop_assert!(agree(weak.wall_thickness_mm().unwrap(), 2.0 * wall_mm, 1e-12));
        let other_unit = MinimumStiffness {
            short_term_flexural_modulus_mpa: 1.5 * modulus,
            stiffness_limit_mpa: 1.5 * limit,
            ..liner
        };
        prop_assert!(agree(other_unit.wall_thickness_mm().unwrap(), wall_mm, 1e-12));
        let back = RingStiffness {
            host_diameter_mm: diameter_mm,
            wall_thickness_mm: wall_mm,
            short_term_flexural_modulus_mpa: modulus,
        };
        prop_assert!(agree(back.ring_stiffness_mpa().unwrap(), limit, 1e-12));
    }
}
