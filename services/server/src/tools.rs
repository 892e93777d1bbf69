//! Commands that work on the store without serving it.

use std::{io::Write, path::Path};

use obvert_ledger::{
    OpenError,
    tools::{self, ToolError, VerifyReport},
};
use obvert_proto::counted;

use crate::{Ended, Exit};

/// Prints one text on standard output.
pub(crate) fn say(text: &str) -> Result<(), Ended> {
    writeln!(std::io::stdout(), "{text}")
        .map_err(|error| Ended::new(Exit::Failure, error.to_string()))
}

pub(crate) fn verify(folder: &Path) -> Result<(), Ended> {
    let report = tools::verify(folder).map_err(failed)?;
    say(&shown(&report))?;
    match report.findings.len() {
        0 => Ok(()),
        count => {
            let damaged = counted(count, "damaged place", "damaged places");
            let message = format!("{damaged}: restore the store from a backup");
            Err(Ended::new(Exit::Failure, message))
        }
    }
}

fn shown(report: &VerifyReport) -> String {
    let mut text = format!(
        "{}, {}, {} of {}, {} with {}; {}",
        counted(report.volumes, "volume", "volumes"),
        counted(report.groups, "group", "groups"),
        counted(report.commits, "commit", "commits"),
        counted(report.heads.len(), "project", "projects"),
        counted(report.blobs, "blob", "blobs"),
        counted(report.blob_bytes, "byte", "bytes"),
        if report.closed {
            "stopped in order"
        } else {
            "in use, or not stopped in order"
        }
    );
    for finding in &report.findings {
        let revision = finding.revision.as_deref().unwrap_or("no revision known");
        text.push_str(&format!(
            "
{} ({revision}): {}",
            finding.place, finding.what
        ));
    }
    text
}

pub(crate) fn rebuild(folder: &Path) -> Result<(), Ended> {
    tools::rebuild(folder).map_err(failed)?;
    say("the index was made anew from the journal")
}

pub(crate) fn export(folder: &Path, out: &Path, project: Option<&str>) -> Result<(), Ended> {
    tools::export(folder, out, project).map_err(failed)?;
    say(&format!("written to {}", out.display()))
}

pub(crate) fn import(folder: &Path, from: &Path) -> Result<(), Ended> {
    tools::import(folder, from).map_err(failed)?;
    say(&format!("taken in from {}", from.display()))
}

pub(crate) fn backup(folder: &Path, out: &Path) -> Result<(), Ended> {
    tools::backup(folder, out).map_err(failed)?;
    say(&format!("copied to {}", out.display()))
}

pub(crate) fn failed(error: ToolError) -> Ended {
    match error {
        ToolError::Open(error) => opened(error),
        error => Ended::new(Exit::Failure, error.to_string()),
    }
}

/// Exit of a store that could not be opened: 75 when another process holds it.
pub(crate) fn opened(error: OpenError) -> Ended {
    let exit = match error {
        OpenError::Held { .. } => Exit::Held,
        _ => Exit::Failure,
    };
    Ended::new(exit, error.to_string())
}
