//! Runs a formula of the list by its name on inputs by their names.

use obvert_engineering::{Formula, formulas};

use super::assert_near;

fn formula(name: &str) -> &'static Formula {
    let found = formulas().iter().find(|formula| formula.name == name);
    found.unwrap_or_else(|| panic!("{name} is no formula"))
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
