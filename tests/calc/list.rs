//! The list of formulas as programs read it.

use obvert_engineering::{formulas, soil::SOIL_TABLES};
use serde_json::Value;

use super::calc;

fn listed(words: &[&str]) -> Vec<Value> {
    let ended = calc(words, "");
    assert!(ended.status.success());
    serde_json::from_slice(&ended.stdout).unwrap()
}

#[test]
fn the_list_is_that_of_the_tables_beside_the_formulas() {
    let listed = listed(&["--list", "--json"]);
    assert_eq!(listed.len(), formulas().len());
    for (shown, formula) in listed.iter().zip(formulas()) {
        assert_eq!(shown["formula"], formula.name);
        assert_eq!(shown["title"], formula.title);
        assert_eq!(shown["source"], formula.source);
        let inputs = shown["inputs"].as_array().unwrap();
        assert_eq!(inputs.len(), formula.inputs.len());
        for (input, field) in inputs.iter().zip(formula.inputs) {
            assert_eq!(input["name"], field.name);
            assert_eq!(input["unit"], field.unit);
            assert_eq!(input["min"], field.min);
            assert_eq!(input["max"], field.max);
            assert!(
                !input["about"].as_str().unwrap().is_empty(),
                "{}",
                field.name
            );
        }
        assert!(
            !shown["equation"].as_str().unwrap().is_empty(),
            "{}",
            formula.name
        );
        assert_eq!(
            shown["outputs"].as_array().unwrap().len(),
            formula.outputs.len()
        );
    }
}

/// Each unit of an input is one that a person may write, so that no input takes bare numbers only.
#[test]
fn every_unit_of_an_input_is_in_the_table_of_units() {
    for formula in formulas() {
        for field in formula.inputs {
            let same = obvert_engineering::unit_table::conversion(field.unit, field.unit);
            assert!(
                same.is_some(),
                "{} {} in {}",
                formula.name,
                field.name,
                field.unit
            );
        }
    }
}

#[test]
fn the_tables_of_soil_moduli_keep_their_source() {
    let listed = listed(&["--tables", "--json"]);
    assert_eq!(listed.len(), SOIL_TABLES.len());
    for (shown, table) in listed.iter().zip(SOIL_TABLES) {
        assert_eq!(shown["source"], table.source);
        assert_eq!(shown["rows"].as_array().unwrap().len(), table.rows.len());
    }
}
