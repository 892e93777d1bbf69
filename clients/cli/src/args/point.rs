//! Verbs of the noun `point`.

use clap::Command;

use super::{flag, full_name, option, positional, revision, write_options};

pub(super) fn verbs() -> [Command; 3] {
    let list = Command::new("list")
        .about("Points of one segment, or of every segment of a project")
        .arg(positional("name").help("Full name of a segment or project"))
        .arg(revision())
        .arg(flag("held", "Only what holds"))
        .arg(flag(
            "evidence",
            "The list of evidence of one segment, row by row",
        ));
    let release = Command::new("release")
        .about("Release a point, or give a variance")
        .args([
            positional("segment").value_parser(full_name),
            positional("point"),
        ])
        .arg(option(
            "variance",
            "REASON",
            "Give a variance for this reason",
        ))
        .arg(
            option(
                "until",
                "DATE",
                "Last day on which the variance holds, as 2026-06-30",
            )
            .requires("variance"),
        )
        .arg(flag("lapse", "Let a witness point lapse after due notice").conflicts_with("variance"))
        .arg(option("note", "TEXT", "Note"))
        .args(write_options());
    let history = Command::new("history")
        .about("Who released what of a segment on which evidence, as it stood at a revision")
        .arg(positional("segment").value_parser(full_name))
        .arg(revision());
    [list, release, history]
}
