//! The auditor's commands: is this still what was written, and who did what?
//!
//! A store that was altered by somebody who can write its files may be consistent in itself. What
//! such a person cannot alter is a checkpoint that lies elsewhere: a file of heads, or any issued
//! package.

mod checkpoint;
mod export;

use std::path::Path;

use obvert_access::log::LOG_NAME;
use obvert_ledger::tools::{ACCESS_LOG, Known, ToolError, VerifyReport, verify_chains};
use obvert_proto::counted;

use crate::{
    Ended, Exit,
    args::AuditCommand,
    tools::{failed, say},
};

/// Runs one of the auditor's commands.
pub(crate) fn run(command: &AuditCommand) -> Result<(), Ended> {
    match command {
        AuditCommand::Verify { folder, against } => verify(folder, against),
        AuditCommand::Checkpoint { folder } => checkpoint::print(folder),
        AuditCommand::Export { folder, project } => export::print(folder, project.as_deref()),
    }
}

/// The journal's chains and the access log's, both held against what is known.
struct Chains {
    journal: VerifyReport,
    log: VerifyReport,
}

impl Chains {
    fn read(folder: &Path, known: &[Known]) -> Result<Self, Ended> {
        let (log, journal): (Vec<_>, Vec<_>) = known
            .iter()
            .cloned()
            .partition(|known| known.project == LOG_NAME);
        // The log is read first: an event that is counted belongs to a commit that is there.
        let log = verify_chains(&folder.join(ACCESS_LOG), &log).map_err(failed)?;
        let journal = verify_chains(folder, &journal).map_err(failed)?;
        Ok(Self { journal, log })
    }

    /// What is wrong, a row for each place.
    fn findings(&self) -> Vec<String> {
        let parts = [("journal", &self.journal), ("access log", &self.log)];
        let rows = parts.into_iter().flat_map(|(part, report)| {
            report.findings.iter().map(move |finding| {
                let revision = finding.revision.as_deref().unwrap_or("no revision known");
                let (place, what) = (&finding.place, &finding.what);
                format!("{part}, {place} ({}): {what}", shown(revision))
            })
        });
        rows.collect()
    }

    fn or_failure(self) -> Result<Self, Ended> {
        let findings = self.findings();
        if findings.is_empty() {
            return Ok(self);
        }
        say(&findings.join("\n"))?;
        let message = format!(
            "the record is not what was written, in {}: keep the store as it is and restore a backup \
             elsewhere to compare",
            counted(findings.len(), "place", "places")
        );
        Err(Ended::new(Exit::VerificationFailed, message))
    }
}

fn verify(folder: &Path, against: &[std::path::PathBuf]) -> Result<(), Ended> {
    require_store(folder)?;
    let mut known = Vec::new();
    for file in against {
        known.extend(checkpoint::read(file)?);
    }
    known.sort_unstable();
    known.dedup();
    let Chains { journal, log } = Chains::read(folder, &known)?.or_failure()?;
    for (project, head) in &journal.heads {
        say(&format!("{project}@{}", head.revision))?;
    }
    let entries = log.heads.get(LOG_NAME).map_or(0, |head| head.revision);
    let held = match known.len() {
        0 => "against itself only: name a checkpoint that was kept elsewhere".to_owned(),
        count => format!(
            "against {} kept elsewhere",
            counted(count, "commit", "commits")
        ),
    };
    say(&format!(
        "{} of {} and {} of the access log are as written; held {held}",
        counted(journal.commits, "commit", "commits"),
        counted(journal.heads.len(), "project", "projects"),
        counted(entries, "entry", "entries")
    ))
}

/// A folder without a journal is a mistyped name, not an empty store.
fn require_store(folder: &Path) -> Result<(), Ended> {
    if folder.join("journal").is_dir() {
        return Ok(());
    }
    let what = format!("{} holds no store: name its folder", folder.display());
    Err(Ended::new(Exit::Failure, what))
}

/// The access log's commits are called entries.
fn shown(revision: &str) -> String {
    revision.replace(&format!("{LOG_NAME}@"), "entry ")
}

/// A refusal of the disk or of a file's form.
fn unread(path: &Path, what: impl std::fmt::Display) -> Ended {
    Ended::new(Exit::Failure, format!("{}: {what}", path.display()))
}

fn printed(error: ToolError) -> Ended {
    match error {
        ToolError::Open(obvert_ledger::OpenError::Corrupt { .. }) => {
            Ended::new(Exit::VerificationFailed, error.to_string())
        }
        error => failed(error),
    }
}
