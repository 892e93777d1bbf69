//! `obvert calc`: every formula of `obvert_engineering`, offline.
//!
//! What can be asked for, with which inputs, units and ranges, is read from the tables beside the
//! formulas; a new formula needs no line here. [`rows`] answers a stream of them at pipe speed.

mod list;
mod one;
mod row;
mod rows;
mod words;

use clap::ArgMatches;

pub(crate) use words::command;

use crate::{Exit, Failure, output::Output};

/// Shown wherever a result is: it is an aid, and somebody else decides.
const CAUTION: &str = "An aid for planning and checking: a licensed engineer decides.";

/// Runs `obvert calc` with what was matched.
pub(crate) fn run(given: &ArgMatches) -> Result<(), Failure> {
    if let Some((name, inputs)) = given.subcommand() {
        return one::run(name, inputs, Output::of(inputs));
    }
    let output = Output::of(given);
    if given.get_flag("jsonl") {
        return rows::run();
    }
    if given.get_flag("list") {
        return list::all(output);
    }
    if given.get_flag("tables") {
        return list::soil_tables(output);
    }
    Err(Failure::new(
        Exit::Usage,
        "name a formula, or ask for --list, --tables or --jsonl",
    ))
}

/// A number for people: six digits, no more than it has.
fn shown(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    rounded.to_string()
}
