//! Exfiltration at the limit of 50 US gallons for each inch, mile and day (City of South Bend IN,
//! Design and Construction Standards, section 4). The vectors are our own arithmetic on it.

use obvert_engineering::exfiltration::{
    ExfiltrationSi, ExfiltrationUs, USUAL_LIMIT_GAL_PER_IN_MI_DAY, USUAL_LIMIT_L_PER_MM_KM_DAY,
};
use obvert_engineering::units::L_PER_GAL;

use super::assert_near;

/// Diameter in inches, length in feet, allowance in gallons in one hour.
const VECTORS: [(f64, f64, f64); 5] = [
    (8.0, 300.0, 0.947),
    (10.0, 250.0, 0.986),
    (12.0, 400.0, 1.894),
    (15.0, 350.0, 2.071),
    (24.0, 500.0, 4.735),
];

#[test]
fn allowances_match_in_gallons_and_in_litres() {
    for (diameter_in, length_ft, gallons) in VECTORS {
        let us = ExfiltrationUs {
            diameter_in,
            length_ft,
            duration_h: 1.0,
            limit_gal_per_in_mi_day: USUAL_LIMIT_GAL_PER_IN_MI_DAY,
        };
        assert_near(us.allowance_gal().unwrap(), gallons, 0.0006);
        let si = ExfiltrationSi {
            diameter_mm: diameter_in * 25.4,
            length_m: length_ft * 0.3048,
            duration_h: 1.0,
            limit_l_per_mm_km_day: USUAL_LIMIT_L_PER_MM_KM_DAY,
        };
        assert_near(
            si.allowance_l().unwrap(),
            us.allowance_gal().unwrap() * L_PER_GAL,
            1e-9,
        );
    }
}

#[test]
fn the_limit_is_4_63_litres_for_each_millimetre_kilometre_and_day() {
    assert_near(USUAL_LIMIT_L_PER_MM_KM_DAY, 4.63, 0.005);
}
