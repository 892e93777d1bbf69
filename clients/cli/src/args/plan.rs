//! Verbs of the noun `plan`.

use clap::{Arg, Command};

use super::{file_arg, positional, project, write_options};

pub(super) fn verbs(command: Command) -> Command {
    command
        .subcommand(
            Command::new("check")
                .about("Check a plan's file without storing it")
                .arg(file_arg("file"))
                .arg(
                    project()
                        .required(false)
                        .help("Project in which the logo of its cover is looked for"),
                ),
        )
        .subcommand(
            Command::new("explain")
                .about("Show a plan for people: each point, its needs, limits and releases")
                .arg(plan_arg("plan")),
        )
        .subcommand(
            Command::new("diff")
                .about("Say what one plan changes of another; exit code 1 when something does")
                .args([plan_arg("older"), plan_arg("newer")]),
        )
        .subcommand(
            Command::new("add")
                .about("Store a plan from its TOML file")
                .args([positional("id"), file_arg("file"), project()])
                .args(write_options()),
        )
        .mut_subcommand("revise", |revise| {
            revise.about("Write a new state of a plan from its TOML file, or of its record in JSON")
        })
}

fn plan_arg(name: &'static str) -> Arg {
    positional(name)
        .help("TOML file, or full name of a stored plan, with @revision for an old state")
}
