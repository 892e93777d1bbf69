//! The load coefficient of a rectangle at depth.

use obvert_engineering::wheel_load::LoadCoefficient;
use proptest::prelude::{prop_assert, proptest};

use super::{agree, cases};

fn coefficient(half_width_ratio: f64, half_length_ratio: f64) -> f64 {
    LoadCoefficient {
        half_width_ratio,
        half_length_ratio,
    }
    .load_coefficient()
    .unwrap()
}

#[test]
fn it_is_nothing_without_width_and_everything_under_a_wide_load() {
    assert!(coefficient(0.0, 5.0).abs() < 1e-300);
    assert!(agree(coefficient(1000.0, 1000.0), 1.0, 1e-6));
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn it_is_symmetric_grows_with_each_ratio_and_stays_below_one(
        m in 0.01..5.0, n in 0.01..5.0, more in 0.01..0.5
    ) {
        let found = coefficient(m, n);
        prop_assert!(agree(found, coefficient(n, m), 1e-13));
        prop_assert!(found > 0.0 && found < 1.0);
        prop_assert!(coefficient(m + more, n) > found);
        prop_assert!(coefficient(m, n + more) > found);
        prop_assert!(coefficient(m / 1e6, n) < 1e-5);
    }
}
