//! Conversions between US and SI units, with the exact factors.
//!
//! A factor is named `X_PER_Y`: multiply a number of Y by it to get a number of X.
//! The inch (25.4 mm), the pound (0.45359237 kg), the gallon (231 cubic inches) and standard
//! gravity (9.80665 m/s²) are exact by definition (NIST Special Publication 811, Appendix B);
//! the rest follows.

/// Millimetres in an inch.
pub const MM_PER_IN: f64 = 25.4;

/// Metres in a foot.
pub const M_PER_FT: f64 = 0.3048;

/// Metres in a mile.
pub const M_PER_MI: f64 = 1609.344;

/// Standard gravity.
pub const STANDARD_GRAVITY_M_PER_S2: f64 = 9.806_65;

/// Newtons in a pound-force.
pub const N_PER_LBF: f64 = 0.453_592_37 * STANDARD_GRAVITY_M_PER_S2;

/// Megapascals in a pound-force per square inch.
pub const MPA_PER_PSI: f64 = N_PER_LBF / (MM_PER_IN * MM_PER_IN);

/// Kilonewtons per cubic metre in a pound-force per cubic foot.
pub const KN_PER_M3_PER_PCF: f64 = N_PER_LBF / (M_PER_FT * M_PER_FT * M_PER_FT) / 1000.0;

/// Litres in a US gallon.
pub const L_PER_GAL: f64 = 3.785_411_784;

/// Inches of a length in millimetres.
pub fn in_from_mm(length_mm: f64) -> f64 {
    length_mm / MM_PER_IN
}

/// Millimetres of a length in inches.
pub fn mm_from_in(length_in: f64) -> f64 {
    length_in * MM_PER_IN
}

/// Feet of a length in metres.
pub fn ft_from_m(length_m: f64) -> f64 {
    length_m / M_PER_FT
}

/// Metres of a length in feet.
pub fn m_from_ft(length_ft: f64) -> f64 {
    length_ft * M_PER_FT
}

/// Pounds-force per square inch of a pressure in megapascals.
pub fn psi_from_mpa(pressure_mpa: f64) -> f64 {
    pressure_mpa / MPA_PER_PSI
}

/// Megapascals of a pressure in pounds-force per square inch.
pub fn mpa_from_psi(pressure_psi: f64) -> f64 {
    pressure_psi * MPA_PER_PSI
}

/// Pounds-force per cubic foot of a unit weight in kilonewtons per cubic metre.
pub fn pcf_from_kn_per_m3(unit_weight_kn_per_m3: f64) -> f64 {
    unit_weight_kn_per_m3 / KN_PER_M3_PER_PCF
}

/// Kilonewtons per cubic metre of a unit weight in pounds-force per cubic foot.
pub fn kn_per_m3_from_pcf(unit_weight_pcf: f64) -> f64 {
    unit_weight_pcf * KN_PER_M3_PER_PCF
}
