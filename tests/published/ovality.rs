//! Najafi 2010, Table 2.9: ovality reduction factor.

use obvert_engineering::ovality::{OvalityReduction, refuse_fraction};

use super::assert_near;

/// Ovality in percent and the printed factor.
const TABLE_2_9: [(f64, f64); 8] = [
    (0.0, 1.00),
    (1.0, 0.91),
    (2.0, 0.84),
    (4.0, 0.70),
    (5.0, 0.64),
    (6.0, 0.59),
    (8.0, 0.49),
    (10.0, 0.41),
];

#[test]
fn all_eight_factors_of_table_2_9_match_to_two_decimals() {
    for (ovality_percent, printed) in TABLE_2_9 {
        let factor = OvalityReduction { ovality_percent }
            .reduction_factor()
            .unwrap();
        assert_near(factor, printed, 0.005);
    }
}

#[test]
fn an_ovality_entered_as_a_fraction_is_refused_and_the_percent_is_named() {
    let refusal = refuse_fraction(0.02).expect_err("0.02 looks like a fraction");
    assert!(refusal.0[0].remedy.contains("enter 2 "), "{refusal}");
    for taken in [0.0, 0.1, 2.0, 10.0] {
        refuse_fraction(taken).unwrap();
    }
}
