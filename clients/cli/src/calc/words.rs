//! The command line of `obvert calc`, made from the list of formulas when it is asked for.

use std::{collections::HashMap, sync::LazyLock};

use clap::{Arg, ArgAction, Command};
use obvert_engineering::{Field, Formula, formulas};

use super::CAUTION;
use crate::args::leaked;

const EXAMPLES: &str = "\
Examples:
  obvert calc --list
  obvert calc ovality-reduction --help
  obvert calc liner-mass --density-kg-per-m3 1900 --host-diameter-mm 8in \\
      --wall-thickness-mm 4.2mm --films-percent 3%
  obvert calc --jsonl <rows.jsonl

A row for --jsonl: {\"formula\": \"ovality-reduction\", \"inputs\": {\"ovality_percent\": 2}}
A value is a number in the unit of its input, or a number with its own unit.";

/// `calc` and a command for each formula.
pub(crate) fn command() -> Command {
    Command::new("calc")
        .about("Engineering formulas, offline: each with equation, ranges and source")
        .defer(|command| {
            command
                .arg_required_else_help(true)
                .args_conflicts_with_subcommands(true)
                .subcommand_value_name("FORMULA")
                .subcommand_help_heading("Formulas")
                .arg(flag("list", "List all formulas with their inputs"))
                .arg(flag("tables", "Print the published tables of soil moduli"))
                .arg(flag(
                    "jsonl",
                    "Read a row of JSON for each formula to run, write one for each answer",
                ))
                .after_help(EXAMPLES)
                .subcommands(formulas().iter().map(|formula| {
                    Command::new(formula.name)
                        .about(formula.title)
                        .defer(inputs)
                }))
        })
}

/// The formula of a name.
pub(super) fn formula(name: &str) -> Option<&'static Formula> {
    static BY_NAME: LazyLock<HashMap<&str, &Formula>> =
        LazyLock::new(|| formulas().iter().map(|one| (one.name, one)).collect());
    BY_NAME.get(name).copied()
}

/// The range of an input, in words.
pub(super) fn range(field: &Field) -> String {
    let unit = if field.unit == "-" { "" } else { field.unit };
    format!("{} to {} {unit}", field.min, field.max)
        .trim_end()
        .to_owned()
}

/// Inputs of a formula as options, and its equation below them.
fn inputs(command: Command) -> Command {
    let Some(formula) = formula(command.get_name()) else {
        return command;
    };
    let option = |(index, field): (usize, &'static Field)| {
        let unit = if field.unit == "-" {
            "NUMBER"
        } else {
            field.unit
        };
        Arg::new(field.name)
            .long(leaked(&field.name.replace('_', "-")))
            .alias(field.name)
            .required(true)
            .help_heading("Inputs")
            .allow_negative_numbers(true)
            .value_name(unit)
            .help(format!(
                "{} [{}]",
                formula.doc.of_input(index),
                range(field)
            ))
    };
    let below = |heading: &str| formula.doc.below(heading).join("\n  ");
    let after = format!(
        "Equation:\n  {}\n\nUnits:\n  {}\n\nRange:\n  {}\n\nSource:\n  {}\n\n{CAUTION}",
        below("Equation"),
        below("Units"),
        below("Range"),
        formula.source
    );
    command
        .args(formula.inputs.iter().enumerate().map(option))
        .arg(
            Arg::new("sensitivity")
                .long("sensitivity")
                .value_name("PERCENT")
                .help("Also move each input by this step and show what the first result becomes"),
        )
        .after_help(after)
}

fn flag(name: &'static str, help: &'static str) -> Arg {
    Arg::new(name)
        .long(name)
        .action(ArgAction::SetTrue)
        .help(help)
}
