//! Arguments of packages, and of the builds that make many.

use clap::{Arg, ArgAction, Command};

use super::{
    file_arg, file_option, flag, full_name, name_arg, option, positional, project, write_options,
};

pub(super) fn package_verbs(command: Command) -> Command {
    command
        .subcommand(
            Command::new("assemble")
                .about("Assemble and sign the package of an accepted segment")
                .arg(positional("segment").value_parser(full_name))
                .arg(with_people())
                .args(write_options()),
        )
        .subcommand(assemble_all())
        .subcommand(
            Command::new("fetch")
                .about("Download an issued package; resumes where it broke off")
                .args([name_arg(), file_option("out", "Folder to put it into")]),
        )
        .subcommand(
            Command::new("diff")
                .about("Say what differs between two packages, offline; exit code 1 when something does")
                .args([file_arg("older"), file_arg("newer")]),
        )
        .subcommand(
            Command::new("verify")
                .about("Verify a package offline; exit code 8 on any change")
                .arg(file_arg("file"))
                .arg(option(
                    "key",
                    "FILE|FINGERPRINT",
                    "Signer's public key or fingerprint",
                )),
        )
}

fn assemble_all() -> Command {
    Command::new("assemble-all")
        .about("Assemble the packages of all accepted segments of a project; one build, that goes on by itself")
        .arg(project())
        .arg(option("segment", "NAME", "Only this segment; may stand more than once").action(ArgAction::Append))
        .arg(with_people())
        .arg(flag("no-wait", "Begin, and look at it later with 'build watch'"))
        .arg(file_option("out", "Folder to put the packages into").conflicts_with("no-wait"))
        .args(write_options())
}

/// Verbs of a build besides those that every kind has.
pub(super) fn build_verbs(command: Command) -> Command {
    command
        .subcommand(
            Command::new("watch")
                .about("Show how far a build is, until it ends")
                .arg(name_arg()),
        )
        .subcommand(
            Command::new("cancel")
                .about("Give a build up; the packages it made stay")
                .arg(name_arg())
                .args(write_options()),
        )
        .subcommand(
            Command::new("resume")
                .about("Go on with a build that stopped, in your own name, and wait for its end")
                .arg(name_arg())
                .args(write_options()),
        )
}

fn with_people() -> Arg {
    flag(
        "with-people",
        "Say who took part and enclose originals about residents; left out otherwise",
    )
}
