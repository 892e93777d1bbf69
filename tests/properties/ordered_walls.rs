//! The grid of walls that can be ordered, and the rules for readings.

use obvert_engineering::nominal_wall::NominalWall;
use obvert_engineering::order_thickness::{OrderThickness, TolerancedThickness};
use obvert_engineering::wall_tolerance::WallTolerance;
use proptest::collection::vec;
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

use super::{agree, cases};

/// A grid in whole hundredths of a millimetre.
fn order(required_wall_thickness_mm: f64, minimum: u32, step: u32) -> f64 {
    OrderThickness {
        required_wall_thickness_mm,
        minimum_wall_thickness_mm: f64::from(minimum) / 100.0,
        wall_step_mm: f64::from(step) / 100.0,
    }
    .order_wall_thickness_mm()
    .unwrap()
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn an_ordered_wall_is_the_least_on_the_grid_that_is_not_below_the_required_one(
        required in 0.0..40.0, minimum in 100_u32..1000, step in 5_u32..300
    ) {
        let ordered = order(required, minimum, step);
        let (minimum_mm, step_mm) = (f64::from(minimum) / 100.0, f64::from(step) / 100.0);
        prop_assert!(ordered >= required - 1e-8);
        if required > minimum_mm {
            prop_assert!(ordered - required < step_mm);
        } else {
            prop_assert_eq!(ordered, minimum_mm);
        }
        let hundredths = (ordered * 100.0).round() as u32;
        prop_assert_eq!((hundredths - minimum) % step, 0);
        prop_assert_eq!(f64::from(hundredths) / 100.0, ordered);
    }

    #[test]
    fn ordering_is_idempotent_and_monotone(
        required in 0.0..40.0, more in 0.0..2.0, minimum in 100_u32..1000, step in 5_u32..300
    ) {
        let ordered = order(required, minimum, step);
        prop_assert_eq!(order(ordered, minimum, step), ordered);
        prop_assert!(order(required + more, minimum, step) >= ordered);
    }

    #[test]
    fn every_wall_of_the_grid_is_ordered_as_it_is(
        count in 0_u32..200, minimum in 100_u32..1000, step in 5_u32..50
    ) {
        let wall_mm = f64::from(minimum + count * step) / 100.0;
        prop_assert_eq!(order(wall_mm, minimum, step), wall_mm);
        // The same wall, reached by adding up in binary fractions, must not order one step more.
        let summed = f64::from(minimum) / 100.0 + f64::from(count) * (f64::from(step) / 100.0);
        prop_assert_eq!(order(summed, minimum, step), wall_mm);
    }

    #[test]
    fn a_grid_finer_than_a_hundredth_is_refused(minimum in 100_u32..1000) {
        let order = OrderThickness {
            required_wall_thickness_mm: 4.0,
            minimum_wall_thickness_mm: f64::from(minimum) / 100.0 + 0.003,
            wall_step_mm: 0.705,
        };
        let refusal = order.order_wall_thickness_mm().expect_err("no whole hundredths");
        prop_assert_eq!(refusal.0.len(), 2);
    }

    #[test]
    fn the_toleranced_wall_reaches_the_required_one_at_its_lower_end(
        required in 1.0..20.0, tolerance in 0.0..30.0
    ) {
        let order = TolerancedThickness {
            required_wall_thickness_mm: required,
            tolerance_percent: tolerance,
        };
        let nominal = order.nominal_wall_thickness_mm().unwrap();
        prop_assert!(agree(nominal * (1.0 - tolerance / 100.0), required, 1e-12));
    }

    #[test]
    fn the_nominal_wall_leaves_the_required_one_and_grows_with_stretch_and_tolerance(
        required in 1.0..20.0, made in 100.0..1000.0, ratio in 0.8..1.2, tolerance in 0.0..30.0
    ) {
        let tube = NominalWall {
            required_wall_thickness_mm: required,
            made_diameter_mm: made,
            installed_diameter_mm: made * ratio,
            tolerance_percent: tolerance,
        };
        let nominal = tube.nominal_wall_thickness_mm().unwrap();
        prop_assert!(nominal >= required);
        let left = tube.installed_wall_thickness_mm(nominal).unwrap();
        prop_assert!(agree(left, required, 1e-12));
        let wider = NominalWall { installed_diameter_mm: made * ratio * 1.01, ..tube };
        prop_assert!(wider.nominal_wall_thickness_mm().unwrap() >= nominal);
        let looser = NominalWall { tolerance_percent: tolerance + 1.0, ..tube };
        prop_assert!(looser.nominal_wall_thickness_mm().unwrap() > nominal);
    }

    #[test]
    fn readings_that_meet_the_rule_by_points_also_meet_the_rule_of_the_mean(
        readings in vec(2.0..8.0, 1..12), wall_mm in 3.0..6.0
    ) {
        let met = |rule: WallTolerance| rule.judge(&readings, wall_mm).unwrap().is_met();
        prop_assert!(!met(WallTolerance::PointAt87Percent) || met(WallTolerance::MeanOfReadings));
        prop_assert!(!met(WallTolerance::Iso) || met(WallTolerance::MeanOfReadings));
        let least = readings.iter().copied().fold(f64::INFINITY, f64::min);
        prop_assert_eq!(met(WallTolerance::FivePercentOfOrdered), least >= 0.95 * wall_mm - 1e-9);
    }
}

#[test]
fn six_equal_readings_at_the_required_wall_meet_every_rule() {
    use WallTolerance::{FivePercentOfOrdered, Iso, MeanOfReadings, PointAt87Percent};
    for rule in [MeanOfReadings, PointAt87Percent, FivePercentOfOrdered, Iso] {
        assert!(rule.judge(&[4.2; 6], 4.2).unwrap().is_met(), "{rule:?}");
        assert!(
            !rule.judge(&[4.2, 4.2, 2.9], 4.2).unwrap().is_met(),
            "{rule:?}"
        );
        assert!(rule.judge(&[], 4.2).is_err(), "{rule:?}");
    }
}
