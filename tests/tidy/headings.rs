//! Headings that formulas and hold points must have.

use super::tree::sources;

const OF_FORMULA: [&str; 5] = ["Equation", "Units", "Range", "Source", "Example"];
const OF_POINT: [&str; 6] = [
    "Holds",
    "Why",
    "Released when",
    "Evidence",
    "Parameters",
    "Source",
];

/// What stands below a heading of a doc comment up to the next one, or nothing.
fn below<'a>(doc: &[&'a str], heading: &str) -> Option<Vec<&'a str>> {
    let title = format!("# {heading}");
    let start = doc.iter().position(|row| *row == title)? + 1;
    // A heading is one `#` outside a code block; inside, that hides a row of an example.
    let mut code = false;
    let mut rows = Vec::new();
    for row in &doc[start..] {
        code ^= row.starts_with("```");
        if !code && row.starts_with("# ") {
            break;
        }
        if !row.is_empty() {
            rows.push(*row);
        }
    }
    Some(rows)
}

/// Names of the types whose `impl` block states a formula.
fn formulas(text: &str) -> Vec<&str> {
    let mut named = "";
    let mut formulas = Vec::new();
    for row in text.lines() {
        if let Some(rest) = row.strip_prefix("impl ") {
            named = rest.trim_end_matches(" {");
        }
        if row.trim_start().starts_with("pub const FORMULA: Formula") {
            formulas.push(named);
        }
    }
    formulas
}

/// Rows of the doc comment of a struct.
fn doc_of<'a>(text: &'a str, name: &str) -> Vec<&'a str> {
    let rows: Vec<&str> = text.lines().map(str::trim_start).collect();
    let opening = format!("pub struct {name} ");
    let at = rows.iter().position(|row| row.starts_with(&opening));
    let at = at.unwrap_or_else(|| panic!("no struct {name} in its own file"));
    let mut doc: Vec<&str> = rows[..at]
        .iter()
        .rev()
        .take_while(|row| row.starts_with("///") || row.starts_with("#["))
        .filter_map(|row| row.strip_prefix("///"))
        .map(str::trim)
        .collect();
    doc.reverse();
    doc
}

#[test]
fn every_formula_states_equation_units_range_source_and_example() {
    let mut count = 0;
    for source in sources("services/engineering/src") {
        for name in formulas(&source.text) {
            let doc = doc_of(&source.text, name);
            for heading in OF_FORMULA {
                let said = below(&doc, heading).unwrap_or_default();
                assert!(
                    !said.is_empty(),
                    "{}: {name} says nothing under # {heading}",
                    source.path
                );
            }
            let example = below(&doc, "Example").unwrap();
            let first = example.iter().find(|row| row.starts_with("// ")).copied();
            let says = first.is_some_and(|row| row.to_lowercase().contains("example"));
            assert!(
                says,
                "{}: {name} does not say whose example it has",
                source.path
            );
            count += 1;
        }
    }
    assert!(count >= 40, "only {count} formulas were found");
}

#[test]
fn every_formula_stands_in_the_registry() {
    let all = sources("services/engineering/src");
    let registry = all
        .iter()
        .find(|source| source.path.ends_with("/registry.rs"))
        .unwrap();
    for source in &all {
        for name in formulas(&source.text) {
            let row = format!("{name}::FORMULA,");
            assert!(registry.text.contains(&row), "the registry lacks {name}");
        }
    }
}

#[test]
fn every_evaluator_says_what_it_holds_and_why() {
    let mut count = 0;
    for source in sources("services/closeout/src/hold_points") {
        if !source.text.contains("const EVALUATOR: Evaluator") {
            continue;
        }
        let doc: Vec<&str> = source
            .text
            .lines()
            .map_while(|row| row.strip_prefix("//!"))
            .map(str::trim)
            .collect();
        for heading in OF_POINT {
            let said = below(&doc, heading).unwrap_or_default();
            assert!(
                !said.is_empty(),
                "{} says nothing under # {heading}",
                source.path
            );
        }
        count += 1;
    }
    assert!(count >= 20, "only {count} evaluators were found");
}
