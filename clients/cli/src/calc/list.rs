//! What can be calculated, and the tables that a designer chooses soil moduli from.

use obvert_engineering::{Formula, formulas, soil::SOIL_TABLES};
use serde_json::{Value, json};

use super::shown;
use crate::{Failure, output::Output};

/// All formulas: a table for people, all that is known of each for programs.
pub(super) fn all(output: Output) -> Result<(), Failure> {
    if output.is_json() {
        return output.json(&formulas().iter().map(described).collect::<Vec<_>>());
    }
    let rows: Vec<_> = formulas()
        .iter()
        .map(|formula| vec![formula.name.to_owned(), formula.title.to_owned()])
        .collect();
    output.table(&["formula", "what it gives"], &rows)
}

/// The published tables of soil moduli, each with its source.
pub(super) fn soil_tables(output: Output) -> Result<(), Failure> {
    if output.is_json() {
        let tables = SOIL_TABLES.iter().map(|table| {
            let rows = table.rows.iter();
            let rows: Vec<_> = rows
                .map(|row| json!({"soil": row.soil, "values": row.values}))
                .collect();
            json!({"title": table.title, "unit": table.unit, "source": table.source,
                   "columns": table.columns, "rows": rows})
        });
        return output.json(&tables.collect::<Vec<_>>());
    }
    for table in SOIL_TABLES {
        output.say(&format!(
            "\n{}, {}. {}.",
            table.title, table.unit, table.source
        ))?;
        let head: Vec<&str> = std::iter::once("soil")
            .chain(table.columns.iter().copied())
            .collect();
        let row = |row: &obvert_engineering::soil::SoilRow| {
            std::iter::once(row.soil.to_owned())
                .chain(row.values.iter().map(|value| shown(*value)))
                .collect()
        };
        output.table(&head, &table.rows.iter().map(row).collect::<Vec<_>>())?;
    }
    Ok(())
}

fn described(formula: &Formula) -> Value {
    let inputs = formula.inputs.iter().enumerate().map(|(index, field)| {
        json!({"name": field.name, "unit": field.unit, "min": field.min, "max": field.max,
               "about": formula.doc.of_input(index)})
    });
    let outputs = formula.outputs.iter();
    let outputs = outputs.map(|output| json!({"name": output.name, "unit": output.unit}));
    json!({
        "formula": formula.name,
        "title": formula.title,
        "inputs": inputs.collect::<Vec<_>>(),
        "outputs": outputs.collect::<Vec<_>>(),
        "equation": formula.doc.below("Equation").join("\n"),
        "source": formula.source,
    })
}
