//! Live loads at the crown by cover, as the AISI handbook of steel drainage products and AWWA M23
//! print them, FROM MEMORY; each psi is the psf in print over 144. Then three load coefficients of
//! the closed form, which are derived.

use obvert_engineering::live_load::{HighwayLiveLoad, RailwayLiveLoad};

use super::assert_near;
use super::golden::gives;

/// Cover in feet and load in psi, HS-20 with impact.
const HS_20: [(f64, f64); 8] = [
    (1.0, 12.50),
    (2.0, 5.56),
    (3.0, 4.17),
    (4.0, 2.78),
    (5.0, 1.74),
    (6.0, 1.39),
    (7.0, 1.22),
    (8.0, 0.69),
];

/// Cover in feet and load in psi, Cooper E-80.
const E_80: [(f64, f64); 18] = [
    (2.0, 26.39),
    (3.0, 23.61),
    (4.0, 18.40),
    (5.0, 16.67),
    (6.0, 15.63),
    (7.0, 12.15),
    (8.0, 11.11),
    (10.0, 7.64),
    (12.0, 5.56),
    (14.0, 4.17),
    (16.0, 3.47),
    (18.0, 2.78),
    (20.0, 2.08),
    (22.0, 1.91),
    (24.0, 1.74),
    (26.0, 1.39),
    (28.0, 1.04),
    (30.0, 0.69),
];

fn highway(cover_ft: f64) -> f64 {
    HighwayLiveLoad { cover_ft }.live_load_psi().unwrap()
}

fn railway(cover_ft: f64) -> f64 {
    RailwayLiveLoad { cover_ft }.live_load_psi().unwrap()
}

#[test]
fn every_row_of_both_tables_matches_and_rows_between_are_interpolated() {
    for (cover_ft, psi) in HS_20 {
        assert_near(highway(cover_ft), psi, 0.006);
    }
    for (cover_ft, psi) in E_80 {
        assert_near(railway(cover_ft), psi, 0.006);
    }
    for pair in HS_20.windows(2) {
        let [(above, more), (below, less)] = [pair[0], pair[1]];
        assert_near(highway(0.5 * (above + below)), 0.5 * (more + less), 0.006);
    }
}

#[test]
fn no_traffic_counts_below_the_last_row_and_less_cover_than_the_first_is_refused() {
    for deep in [9.0, 20.0] {
        assert_near(highway(deep), 0.0, 0.0);
    }
    assert_near(railway(40.0), 0.0, 0.0);
    let shallow = HighwayLiveLoad { cover_ft: 0.9 };
    let refusal = shallow.live_load_psi().expect_err("no row so shallow");
    assert_eq!(refusal.0[0].field, "cover_ft");
    assert!(RailwayLiveLoad { cover_ft: 1.9 }.live_load_psi().is_err());
}

#[test]
fn three_coefficients_of_the_closed_form_match() {
    for (ratio, coefficient) in [(1.0, 0.7009), (0.5, 0.3361), (0.1, 0.018_785)] {
        let inputs = [("half_width_ratio", ratio), ("half_length_ratio", ratio)];
        gives(
            "load-coefficient",
            &inputs,
            "load_coefficient",
            coefficient,
            0.6e-4,
        );
    }
}
