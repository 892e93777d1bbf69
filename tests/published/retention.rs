//! Ji, Koo and Kang, Int. J. Environ. Res. Public Health 2020, 17, 2073, abstract: a glass liner
//! with 8 times the modulus of 250 000 psi and a retention of 0.64 is up to 54 percent thinner.

use obvert_engineering::retention::LongTermModulus;
use obvert_engineering::soil_buckling::{OvalityPlace, SoilBuckling};
use obvert_engineering::units::mpa_from_psi;

use super::assert_near;

#[test]
fn a_glass_liner_of_eight_times_the_modulus_is_54_percent_thinner() {
    let wall_mm = |modulus_psi: f64, modulus_retention_factor: f64| {
        let modulus = LongTermModulus {
            short_term_flexural_modulus_mpa: mpa_from_psi(modulus_psi),
            modulus_retention_factor,
        };
        SoilBuckling {
            host_diameter_mm: 600.0,
            external_load_mpa: 0.1,
            buoyancy_factor: 0.8,
            elastic_support: 0.4,
            soil_modulus_mpa: 5.0,
            long_term_flexural_modulus_mpa: modulus.long_term_flexural_modulus_mpa().unwrap(),
            ovality_percent: 2.0,
            safety_factor: 2.0,
        }
        .wall_thickness_mm(OvalityPlace::InsideRoot)
        .unwrap()
    };
    let thinner = 1.0 - wall_mm(8.0 * 250_000.0, 0.64) / wall_mm(250_000.0, 0.5);
    assert_near(100.0 * thinner, 54.0, 0.5);
}
