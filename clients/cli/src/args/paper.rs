//! The noun `paper`: what was typed from an original, and who has compared it.

use clap::{ArgGroup, Command, value_parser};

use super::{flag, name_arg, option, positional, write_options};

pub(super) fn paper_noun() -> Command {
    let paper = || {
        positional("name").help("Full name of a report, certificate, receiving check or document")
    };
    let revision = option(
        "revision",
        "N",
        "Revision that you compared; the latest if left out",
    );
    Command::new("paper")
        .about("Papers typed from an original: what was typed, who compared it, their grade")
        .subcommand_required(true)
        .subcommand(
            Command::new("show")
                .about("Show typed values, originals and grade")
                .arg(paper()),
        )
        .subcommand(
            Command::new("check")
                .about("State that you compared it with its original, as a second role")
                .arg(paper())
                .arg(revision.value_parser(value_parser!(i64).range(1..)))
                .arg(flag("agrees", "Every typed value equals the original"))
                .arg(option("differs", "TEXT", "What differs"))
                .group(
                    ArgGroup::new("found")
                        .args(["agrees", "differs"])
                        .required(true),
                )
                .args(write_options()),
        )
        .subcommand(
            Command::new("link")
                .about("Make a link by which its issuer answers once; send it yourself")
                .arg(paper())
                .arg(option("issuer", "FIRM", "Firm that is asked").required(true))
                .arg(
                    option("days", "DAYS", "Days until it expires; 14 if left out")
                        .value_parser(value_parser!(i32)),
                )
                .args(write_options()),
        )
        .subcommand(
            Command::new("revoke-link")
                .about("End a link")
                .arg(name_arg())
                .args(write_options()),
        )
}
