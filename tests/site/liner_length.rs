//! Length of liner to order.

use obvert_engineering::liner_length::LinerLength;

fn order() -> LinerLength {
    LinerLength {
        wall_to_wall_m: vec![42.3, 38.0, 51.7],
        intermediate_manholes_m: vec![1.2, 1.5],
        packer_grip_m: 0.6,
        sample_m: 0.5,
        trim_m: 0.2,
        reserve_m: 1.0,
    }
}

#[test]
fn an_order_adds_segments_manholes_both_ends_and_reserve() {
    let length_m = order().order_length_m().unwrap();
    assert!((length_m - (132.0 + 2.7 + 2.0 * 1.3 + 1.0)).abs() < 1e-9);
}

#[test]
fn all_that_is_wrong_is_reported_at_once() {
    let wrong = LinerLength {
        wall_to_wall_m: vec![42.3, -1.0],
        intermediate_manholes_m: vec![],
        trim_m: f64::NAN,
        ..order()
    };
    let problems = wrong.order_length_m().unwrap_err();
    let fields: Vec<&str> = problems
        .0
        .iter()
        .map(|problem| problem.field.as_str())
        .collect();
    assert_eq!(
        fields,
        ["wall_to_wall_m[1]", "trim_m", "intermediate_manholes_m"]
    );
}

#[test]
fn an_order_without_segments_is_refused() {
    let none = LinerLength::default().order_length_m().unwrap_err();
    assert_eq!(none.0[0].field, "wall_to_wall_m");
}
