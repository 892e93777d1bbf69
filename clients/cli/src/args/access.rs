//! The nouns `key` and `link`: who may call, and what opens without a key.

use clap::{Arg, ArgAction, Command, value_parser};

use super::{file_option, flag, name_arg, option, positional, project, write_options};

pub(super) fn key_noun() -> Command {
    Command::new("key")
        .about("Keys of callers")
        .subcommand_required(true)
        .subcommand(
            Command::new("new")
                .about("Make a key; its secret is written to a new file")
                .args([positional("id"), positional("principal")])
                .arg(
                    option("role", "PROJECT:ROLE", "Role, such as quillfern:crew")
                        .action(ArgAction::Append),
                )
                .arg(days("Days until it expires").value_parser(value_parser!(i32).range(1..)))
                .arg(file_option("out", "New file for the secret").required(true))
                .args(write_options()),
        )
        .subcommand(
            Command::new("rotate")
                .about("Make the next key of a principal; the old one runs out")
                .args([name_arg(), positional("id")])
                .arg(days("Days until the new key expires"))
                .arg(
                    option(
                        "overlap-hours",
                        "HOURS",
                        "Hours for which the old key still works",
                    )
                    .value_parser(value_parser!(i32)),
                )
                .arg(file_option("out", "New file for the secret").required(true))
                .args(write_options()),
        )
        .subcommand(
            Command::new("crew-day")
                .about("Make the key of a crew's day; it is shown as a code that phones read")
                .args([positional("id"), project()])
                .arg(option("date", "YYYY-MM-DD", "Day of the shift").required(true))
                .arg(option("ends", "HH:MM", "End of the shift, local time").required(true))
                .arg(flag("ends-next-day", "The shift ends on the day after"))
                .arg(file_option("out", "New file for the secret, for no screen"))
                .args(write_options()),
        )
        .subcommand(Command::new("list").about("List keys and when they were last used"))
        .subcommand(
            Command::new("revoke")
                .about("End a key")
                .arg(name_arg())
                .args(write_options()),
        )
        .subcommand(Command::new("whoami").about("Say as whom you are known"))
}

pub(super) fn link_noun() -> Command {
    Command::new("link")
        .about("Links that open packages in a browser without a key")
        .subcommand_required(true)
        .subcommand(
            Command::new("new")
                .about("Make a link; send it yourself")
                .arg(positional("id"))
                .arg(
                    positional("target")
                        .help("Full name of a package, or of a project for all its packages"),
                )
                .arg(option("for", "WORDS", "For whom it is").required(true))
                .arg(days("Days until it expires; 30 if left out"))
                .args(write_options()),
        )
        .subcommand(
            Command::new("list")
                .about("List the links of a project")
                .arg(project()),
        )
        .subcommand(
            Command::new("revoke")
                .about("End a link")
                .arg(name_arg())
                .args(write_options()),
        )
}

fn days(help: &'static str) -> Arg {
    option("days", "DAYS", help).value_parser(value_parser!(i32))
}
