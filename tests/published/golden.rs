//! Runs a formula of the list by its name on inputs by their names.

use obvert_engineering::{
    Formula, formulas,
    units::{m_from_ft, mm_from_in, mpa_from_psi},
};

use super::assert_near;

fn formula(name: &str) -> &'static Formula {
    let found = formulas().iter().find(|formula| formula.name == name);
    found.unwrap_or_else(|| panic!("{name} is no formula"))
}

/// The 48-in pipe of Najafi 2010, pp. 76-83, under 12 ft of water above the invert.
pub(super) fn pipe_of_48_in() -> [(&'static str, f64); 13] {
    [
        ("host_diameter_mm", mm_from_in(48.0)),
        ("ovality_percent", 2.0),
        ("enhancement_factor", 7.0),
        ("short_term_flexural_modulus_mpa", mpa_from_psi(250_000.0)),
        ("long_term_flexural_modulus_mpa", mpa_from_psi(125_000.0)),
        ("long_term_flexural_strength_mpa", mpa_from_psi(4500.0)),
        ("poisson_ratio", 0.3),
        ("safety_factor", 2.0),
        ("soil_unit_weight_kn_per_m3", 120.0 * 0.157_087_463_8),
        ("soil_modulus_mpa", mpa_from_psi(1000.0)),
        ("cover_m", m_from_ft(16.0)),
        ("groundwater_above_crown_m", m_from_ft(8.0)),
        ("live_load_mpa", mpa_from_psi(0.35)),
    ]
}

/// One result of a formula; the inputs are `name value` pairs in any order, all of them.
#[track_caller]
pub(super) fn found(name: &str, inputs: &[(&str, f64)], output: &str) -> f64 {
    let formula = formula(name);
    assert_eq!(inputs.len(), formula.inputs.len(), "{name} takes others");
    let value = |field: &str| {
        let given = inputs.iter().find(|(given, _)| *given == field);
        given
            .unwrap_or_else(|| panic!("{field} is not given to {name}"))
            .1
    };
    let values: Vec<f64> = formula.inputs.iter().map(|f| value(f.name)).collect();
    let results = (formula.run)(&values).expect("the inputs are in range");
    let place = formula.outputs.iter().position(|one| one.name == output);
    results[place.unwrap_or_else(|| panic!("{name} gives no {output}"))].expect("it applies")
}

/// Asserts one result of a formula.
#[track_caller]
pub(super) fn gives(name: &str, inputs: &[(&str, f64)], output: &str, golden: f64, by: f64) {
    assert_near(found(name, inputs, output), golden, by);
}
