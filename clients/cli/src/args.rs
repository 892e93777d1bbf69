//! The command line: global options, the nouns of the schema, and the nouns with verbs of their own.

mod access;
mod package;
mod paper;
mod plan;
mod plugin;
mod point;

use std::path::PathBuf;

use clap::{Arg, ArgAction, ArgGroup, Command, builder::PossibleValuesParser, value_parser};

use crate::{Exit, Failure, nouns::nouns};

/// Media types of files that are stored.
pub(crate) const MEDIA_TYPES: [&str; 7] = [
    "application/pdf",
    "text/csv",
    "image/jpeg",
    "image/png",
    "image/svg+xml",
    "video/mp4",
    "text/plain",
];

/// The whole command line.
pub(crate) fn command() -> Command {
    let mut command = Command::new("obvert")
        .version(env!("CARGO_PKG_VERSION"))
        .about("Closeout of a sewer-lining contract: records, hold points, packages")
        .subcommand_required(true)
        .arg_required_else_help(true)
        .arg(option("server", "URL", "Server, such as https://obvert.example:7480").global(true))
        .arg(file_option("key-file", "File that holds your key").global(true))
        .arg(
            file_option("ca-file", "PEM file of who vouches for a server at https://").global(true),
        )
        .arg(flag("json", "Print JSON for programs").global(true))
        .after_help(
            "Exit codes: 0 ok, 1 failure, 2 usage, 3 data invalid or held, 4 not found, 5 not allowed,\n\
             6 stale, 7 server unavailable, 8 verification failed.",
        );
    for noun in nouns() {
        let own = noun.collection == "projects";
        let mut kind = Command::new(leaked(&noun.word))
            .about(noun.about())
            .subcommand_required(true)
            .subcommand(
                Command::new("fields").about("Show what one holds: units, ranges, words taken"),
            )
            .subcommand(
                Command::new("get")
                    .about("Show one")
                    .arg(name_arg())
                    .arg(revision()),
            )
            .subcommand(if own {
                Command::new("list").about("List those you may see")
            } else {
                list()
            })
            .subcommand(
                Command::new("history")
                    .about("Show every state")
                    .arg(name_arg()),
            );
        if !noun.own_rpc {
            kind = kind
                .subcommand(create(own))
                .subcommand(revise())
                .subcommand(import());
        }
        kind = own_verbs(&noun.word, kind);
        command = command.subcommand(kind);
    }
    command.subcommands(own_nouns())
}

/// Verbs that a kind has besides the common ones.
fn own_verbs(noun: &str, command: Command) -> Command {
    match noun {
        "attachment" => command
            .subcommand(
                Command::new("put")
                    .about("Store a file; resumes where it broke off")
                    .args([
                        positional("id"),
                        file_arg("file"),
                        project(),
                        media_type(),
                        subjects(),
                    ])
                    .args(write_options()),
            )
            .subcommand(
                Command::new("put-all")
                    .about("Store the files of a table: id, file and media type, tabs between")
                    .args([file_arg("table"), project()])
                    .args(write_options()),
            )
            .subcommand(
                Command::new("fetch")
                    .about("Get a file")
                    .args([name_arg(), file_option("out", "Where to")]),
            ),
        "cure-record" => command.subcommand(
            Command::new("import")
                .about("File a cure log in the neutral CSV form")
                .args([
                    file_arg("file"),
                    option("run", "NAME", "Full name of the run").required(true),
                ])
                .arg(option(
                    "id",
                    "ID",
                    "Id of the record; made from the file's name if left out",
                ))
                .arg(option(
                    "log-reader",
                    "PLUG-IN",
                    "Plug-in of the server that reads this logger's own form",
                ))
                .args(write_options()),
        ),
        "plan" => plan::verbs(command),
        "package" => package::package_verbs(command),
        "build" => package::build_verbs(command),
        "segment" => command.subcommand(
            Command::new("trace")
                .about("Show the chain of records behind each figure, from design to pipe")
                .args([name_arg(), revision()]),
        ),
        "wall-design" => command.subcommands(wall_verbs()),
        "hydraulic-check" | "pull-in-check" | "pressure-design" => command.subcommand(sheet_verb()),
        "as-built-check" => command.subcommands([sheet_verb(), as_built_verb()]),
        _ => command,
    }
}

fn as_built_verb() -> Command {
    Command::new("check")
        .about("Work out what an installed liner bears, without storing it")
        .arg(file_arg("file"))
        .arg(option(
            "design",
            "NAME",
            "Full name of the stored wall design",
        ))
        .arg(file_option("design-file", "Inputs of a design not on file"))
}

fn sheet_verb() -> Command {
    Command::new("sheet")
        .about("Calculation sheet of a stored record, as PDF or HTML")
        .args([name_arg(), revision()])
        .arg(file_option("out", "New file for the sheet").required(true))
        .arg(flag("html", "HTML instead of PDF"))
        .arg(flag("us-units", "US customary units beside SI"))
}

fn wall_verbs() -> [Command; 3] {
    let check = Command::new("check")
        .about("Work out a wall without storing it")
        .arg(file_arg("file"));
    let check_all = Command::new("check-all")
        .about("Work out all walls of a project, or of a file with a row of JSON each")
        .arg(
            file_arg("file")
                .required(false)
                .help("Inputs of a wall as JSON, a row each"),
        )
        .arg(option(
            "project",
            "ID",
            "Project whose stored designs are worked out",
        ))
        .group(
            ArgGroup::new("walls")
                .args(["file", "project"])
                .required(true),
        );
    [check, check_all, sheet_verb()]
}

fn own_nouns() -> Vec<Command> {
    vec![
        Command::new("point")
            .about("Hold, witness and review points")
            .subcommand_required(true)
            .subcommands(point::verbs()),
        Command::new("record")
            .about("Records of any kind")
            .subcommand_required(true)
            .subcommand(
                Command::new("load")
                    .about("Write records from a file of JSON, one a row")
                    .args([file_arg("file"), project()])
                    .args(write_options()),
            ),
        crate::calc::command(),
        access::key_noun(),
        access::link_noun(),
        paper::paper_noun(),
        plugin::plugin_noun(),
        parcel_sheet_noun(),
    ]
}

fn parcel_sheet_noun() -> Command {
    Command::new("parcel-sheet")
        .about("Personal data of a parcel")
        .subcommand_required(true)
        .subcommand(Command::new("get").about("Show it").arg(name_arg()))
        .subcommand(
            Command::new("put")
                .about("Keep it")
                .args([name_arg(), file_arg("file")])
                .args(write_options()),
        )
        .subcommand(
            Command::new("erase")
                .about("Erase it")
                .arg(name_arg())
                .arg(reason()),
        )
}

fn create(own_project: bool) -> Command {
    let command = Command::new("create").about("Write a new one from a JSON file");
    let command = if own_project {
        command
    } else {
        command.arg(project())
    };
    command
        .args([positional("id"), file_arg("file")])
        .args(write_options())
}

fn revise() -> Command {
    Command::new("revise")
        .about("Write a new state of one from a JSON file")
        .args([name_arg(), file_arg("file")])
        .arg(option(
            "etag",
            "ETAG",
            "Etag of the state you read; the latest if left out",
        ))
        .args(write_options())
}

fn import() -> Command {
    Command::new("import")
        .about("Write all rows of a CSV file, or none")
        .args([
            file_arg("file"),
            file_option("map", "Column map in TOML").required(true),
            project(),
        ])
        .args(write_options())
}

fn list() -> Command {
    Command::new("list")
        .about("List them")
        .args([project(), revision()])
        .arg(option(
            "refers-to",
            "NAME",
            "Only those that refer to this record",
        ))
}

/// Options of every command that writes.
fn write_options() -> [Arg; 3] {
    [
        option(
            "request-id",
            "ID",
            "Id of the request; the same id with the same data is answered alike",
        ),
        reason(),
        flag("validate-only", "Check everything and write nothing"),
    ]
}

fn reason() -> Arg {
    option("reason", "TEXT", "Why")
}

fn name_arg() -> Arg {
    positional("name")
        .help("Full name: projects/{project}/{collection}/{id}")
        .value_parser(full_name)
}

/// A record's name as the server takes it; an id alone would be refused as of no project.
fn full_name(text: &str) -> Result<String, String> {
    if text.starts_with("projects/") {
        return Ok(text.to_owned());
    }
    Err("write the full name: projects/{project}/{collection}/{id}".to_owned())
}

fn positional(name: &'static str) -> Arg {
    let help = match name {
        "segment" => "Full name: projects/{project}/segments/{id}",
        "point" => "Id of a point of the plan, such as leak-test",
        "id" => "Id of what is made, in small letters, digits and hyphens",
        "file" => "File to read",
        _ => "",
    };
    Arg::new(name)
        .required(true)
        .value_name(leaked(&name.to_uppercase()))
        .help(help)
}

/// A word for the life of the program: the command line is built once.
pub(crate) fn leaked(word: &str) -> &'static str {
    word.to_owned().leak()
}

fn file_arg(name: &'static str) -> Arg {
    positional(name).value_parser(value_parser!(PathBuf))
}

fn project() -> Arg {
    option("project", "ID", "Project").required(true)
}

fn revision() -> Arg {
    option(
        "revision",
        "N",
        "Revision of the project; the latest if left out",
    )
    .value_parser(value_parser!(i64).range(1..))
}

fn media_type() -> Arg {
    option("media-type", "TYPE", "Media type")
        .required(true)
        .value_parser(PossibleValuesParser::new(MEDIA_TYPES))
}

fn subjects() -> Arg {
    option("subject", "NAME", "Record that the file is about").action(ArgAction::Append)
}

fn option(name: &'static str, value: &'static str, help: &'static str) -> Arg {
    Arg::new(name).long(name).value_name(value).help(help)
}

fn file_option(name: &'static str, help: &'static str) -> Arg {
    option(name, "PATH", help).value_parser(value_parser!(PathBuf))
}

fn flag(name: &'static str, help: &'static str) -> Arg {
    Arg::new(name)
        .long(name)
        .action(ArgAction::SetTrue)
        .help(help)
}

/// Shows help or version, or tells what is wrong with the command line.
pub(crate) fn usage(error: &clap::Error) -> Result<(), Failure> {
    if error.use_stderr() {
        let text = error.to_string();
        let text = text.trim_start_matches("error: ").trim_end();
        return Err(Failure::new(Exit::Usage, text));
    }
    error
        .print()
        .map_err(|error| Failure::new(Exit::Failure, error.to_string()))
}
