//! The noun `plugin`: programs of others that the server asks.

use clap::{Command, value_parser};

use super::{file_option, option, positional};

pub(super) fn plugin_noun() -> Command {
    Command::new("plugin")
        .about("Plug-ins: an owner's checks, log readers, package sections")
        .subcommand_required(true)
        .subcommand(
            Command::new("check")
                .about("Run every requirement of the contract; exit code 8 when one fails")
                .arg(
                    positional("address").help(
                        "unix:/run/check.sock, 127.0.0.1:7501 or https://checks.example:7501",
                    ),
                )
                .arg(file_option(
                    "ca-file",
                    "Behind https://: certificate of the authority to trust, in PEM",
                ))
                .arg(file_option(
                    "sample",
                    "Native cure log that a log reader must read",
                ))
                .arg(
                    option(
                        "deadline-s",
                        "SECONDS",
                        "Longest wait for an answer; 10 if left out",
                    )
                    .value_parser(value_parser!(u64).range(1..=600)),
                ),
        )
}
