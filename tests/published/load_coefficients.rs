//! Moser and Folkman, Buried Pipe Design, Table 2.6 (Najafi 2010, Table 2.12): load coefficients.

use obvert_engineering::wheel_load::LoadCoefficient;

use super::assert_near;

fn coefficient(half_width_ratio: f64, half_length_ratio: f64) -> f64 {
    LoadCoefficient {
        half_width_ratio,
        half_length_ratio,
    }
    .load_coefficient()
    .unwrap()
}

#[test]
fn the_entry_at_0_9_and_0_7_matches() {
    assert_near(coefficient(0.9, 0.7), 0.574, 0.0011);
}

/// The mirror entry prints 0.584; the function is symmetric, so the digit 8 is a misprint for 7.
#[test]
fn the_entry_at_0_7_and_0_9_is_a_misprint_by_ten_thousandths() {
    assert_near(coefficient(0.7, 0.9), 0.574, 0.0011);
    assert!((coefficient(0.7, 0.9) - 0.584).abs() > 0.009);
}

/// Both entries print 0.650 where the closed form gives 0.655.
#[test]
fn the_entries_at_0_7_and_1_5_are_misprints_by_five_thousandths() {
    for found in [coefficient(0.7, 1.5), coefficient(1.5, 0.7)] {
        assert_near(found, 0.655, 0.0011);
        assert!((found - 0.650).abs() > 0.004);
    }
}

/// It prints 0.128, the limit for an infinite length, where the closed form gives 0.1264.
#[test]
fn the_entry_at_0_1_and_5_is_rounded_up() {
    assert_near(coefficient(0.1, 5.0), 0.128, 0.0026);
}

/// Najafi 2010, p. 76 reads 0.03826 for a 4-ft pipe under 16 ft; the table itself says 0.0219.
#[test]
fn the_coefficient_of_page_76_is_not_that_of_its_own_table() {
    assert_near(coefficient(0.125, 0.093_75), 0.0219, 0.0001);
}
