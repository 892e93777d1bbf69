//! The list of formulas against the formulas: none is missing, and each can be run by name.

use std::collections::BTreeSet;
use std::path::Path;

use obvert_engineering::formulas;

/// Counts a text in all source files of the crate that declares the formulas.
fn occurrences(text: &str) -> usize {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../services/engineering/src");
    let files = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let sources = files.filter(|path| path.is_file());
    sources
        .map(|path| std::fs::read_to_string(path).unwrap().matches(text).count())
        .sum()
}

#[test]
fn every_formula_of_the_crate_is_listed_once() {
    assert_eq!(formulas().len(), occurrences("pub const FORMULA"));
    let names: BTreeSet<&str> = formulas().iter().map(|formula| formula.name).collect();
    assert_eq!(names.len(), formulas().len());
}

#[test]
fn every_formula_runs_on_the_lower_end_of_its_ranges_or_says_what_is_out_of_range() {
    for formula in formulas() {
        let least: Vec<f64> = formula.inputs.iter().map(|field| field.min).collect();
        match (formula.run)(&least) {
            Ok(results) => assert_eq!(results.len(), formula.outputs.len(), "{}", formula.name),
            Err(problems) => assert!(!problems.0.is_empty(), "{}", formula.name),
        }
    }
}

#[test]
fn every_formula_reports_all_inputs_below_range_at_once() {
    for formula in formulas() {
        let below: Vec<f64> = formula.inputs.iter().map(|field| field.min - 1.0).collect();
        let problems = (formula.run)(&below).expect_err(formula.name);
        assert_eq!(problems.0.len(), formula.inputs.len(), "{}", formula.name);
        let shown = problems.to_string();
        for field in formula.inputs {
            assert!(shown.contains(field.name), "{}: {shown}", formula.name);
        }
    }
}

#[test]
fn every_formula_refuses_what_is_no_number_and_a_wrong_count_of_inputs() {
    for formula in formulas() {
        let nothing = vec![f64::NAN; formula.inputs.len()];
        assert!((formula.run)(&nothing).is_err(), "{}", formula.name);
        let problems = (formula.run)(&[]).expect_err(formula.name);
        assert_eq!(problems.0[0].field, "inputs");
    }
}

/// An input is named with its unit last, so that a reader of the list needs no other table.
#[test]
fn the_name_of_an_input_ends_in_its_unit() {
    let suffixes = [
        ("mm", "_mm"),
        ("MPa", "_mpa"),
        ("%", "_percent"),
        ("psi", "_psi"),
        ("ft", "_ft"),
        ("in", "_in"),
        ("m", "_m"),
        ("kN/m³", "_kn_per_m3"),
        ("lb/ft³", "_pcf"),
    ];
    for field in formulas().iter().flat_map(|formula| formula.inputs) {
        if let Some((_, suffix)) = suffixes.iter().find(|(unit, _)| *unit == field.unit) {
            assert!(
                field.name.ends_with(suffix),
                "{} in {}",
                field.name,
                field.unit
            );
        }
    }
}
