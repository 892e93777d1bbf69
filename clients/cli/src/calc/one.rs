//! One formula, run once.

use clap::ArgMatches;
use obvert_engineering::{Formula, Problems, sensitivity::sensitivity, unit_table::value_in};
use serde_json::{Map, Value, json};

use super::{CAUTION, shown, words::formula};
use crate::{Exit, Failure, output::Output};

/// Runs the formula on the inputs of the command line and prints what it gives.
pub(super) fn run(name: &str, given: &ArgMatches, output: Output) -> Result<(), Failure> {
    let unknown = || Failure::new(Exit::Usage, format!("{name} is no formula"));
    let formula = formula(name).ok_or_else(unknown)?;
    let values = values(formula, given)?;
    let results = formula
        .run_entered(&values)
        .map_err(|problems| refused(formula, &problems))?;
    let moved = match given.get_one::<String>("sensitivity") {
        None => Vec::new(),
        Some(step) => {
            let bad = |what: String| Failure::new(Exit::Usage, format!("--sensitivity: {what}"));
            let step = value_in(step, "%").map_err(bad)?;
            sensitivity(formula, &values, step).map_err(|problems| refused(formula, &problems))?
        }
    };
    let notes = formula.notes(&values, &results);
    if output.is_json() {
        let inputs = formula.inputs.iter().map(|field| field.name).zip(&values);
        let inputs: Map<_, _> = inputs.map(|(n, v)| (n.to_owned(), json!(v))).collect();
        let names = formula.outputs.iter().map(|output| output.name);
        let result: Map<String, Value> = names
            .zip(&results)
            .map(|(name, value)| (name.to_owned(), json!(value)))
            .collect();
        let moved: Vec<_> = moved
            .iter()
            .map(|one| {
                json!({"input": one.input, "tried": one.tried, "result": one.result,
                       "change": one.change})
            })
            .collect();
        return output.json(&json!({
            "formula": formula.name, "inputs": inputs, "result": result, "notes": notes,
            "sensitivity": moved, "equation": formula.doc.below("Equation").join("\n"),
            "source": formula.source,
        }));
    }
    output.say(&format!("{}\n", formula.title))?;
    output.table(
        &["", "value", "unit"],
        &rows(formula, given, &values, &results),
    )?;
    for note in notes {
        output.say(&format!("\nNote: {note}"))?;
    }
    if !moved.is_empty() {
        output.say("")?;
        let result = |value: Option<f64>| value.map_or_else(|| "none".to_owned(), shown);
        let row = |one: &obvert_engineering::sensitivity::Sensitivity| {
            let (input, tried) = (one.input.to_owned(), shown(one.tried));
            vec![input, tried, result(one.result), result(one.change)]
        };
        let head = ["input moved", "to", formula.outputs[0].name, "change"];
        output.table(&head, &moved.iter().map(row).collect::<Vec<_>>())?;
    }
    let equation = formula.doc.below("Equation").join("\n  ");
    output.say(&format!(
        "\nEquation:\n  {equation}\nSource: {}\n{CAUTION}",
        formula.source
    ))
}

/// What a formula does not take, place by place.
fn refused(formula: &Formula, problems: &Problems) -> Failure {
    let place = |problem: &obvert_engineering::OutOfRange| {
        let words = problem.to_string();
        let rest = words.strip_prefix(&problem.field).unwrap_or(&words);
        (problem.field.clone(), rest.trim_start().to_owned())
    };
    Failure {
        places: problems.0.iter().map(place).collect(),
        ..Failure::new(
            Exit::DataInvalid,
            format!("{} does not take this", formula.name),
        )
    }
}

/// Values in the units of the inputs; all that cannot be read are named at once.
fn values(formula: &Formula, given: &ArgMatches) -> Result<Vec<f64>, Failure> {
    let mut places = Vec::new();
    let mut values = Vec::new();
    for field in formula.inputs {
        match value_in(entered(given, field.name), field.unit) {
            Ok(value) => values.push(value),
            Err(what) => places.push((field.name.to_owned(), what)),
        }
    }
    if places.is_empty() {
        return Ok(values);
    }
    let message = format!("{} cannot read its inputs", formula.name);
    Err(Failure {
        places,
        ..Failure::new(Exit::DataInvalid, message)
    })
}

fn entered<'a>(given: &'a ArgMatches, name: &str) -> &'a str {
    given.get_one::<String>(name).map_or("", String::as_str)
}

/// Inputs, what was entered for them where that was in another unit, and results.
fn rows(
    formula: &Formula,
    given: &ArgMatches,
    values: &[f64],
    results: &[Option<f64>],
) -> Vec<Vec<String>> {
    let unit = |unit: &str| {
        if unit == "-" {
            String::new()
        } else {
            unit.to_owned()
        }
    };
    let input = |(field, value): (&obvert_engineering::Field, &f64)| {
        let text = entered(given, field.name).trim();
        let converted = text.parse::<f64>() != Ok(*value) && !text.ends_with(field.unit);
        let from = if converted {
            format!(" (from {text})")
        } else {
            String::new()
        };
        let unit = format!("{}{from}", unit(field.unit));
        vec![field.name.to_owned(), shown(*value), unit.trim().to_owned()]
    };
    let mut rows: Vec<_> = formula.inputs.iter().zip(values).map(input).collect();
    rows.extend(formula.outputs.iter().zip(results).map(|(output, result)| {
        let value = result.map_or_else(|| "does not apply".to_owned(), shown);
        vec![format!("= {}", output.name), value, unit(output.unit)]
    }));
    rows
}
