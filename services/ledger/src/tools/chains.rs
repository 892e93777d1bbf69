//! Follows the chain of every project and holds it against what somebody else remembers of it.

use super::ToolError;
use super::verify::{Finding, VerifyReport};
use crate::digest::hex;
use crate::error::OpenError;
use crate::index::follow::check_link;
use crate::journal::walk::{End, Ending, Start, walk};
use crate::journal::{Position, reader, volume};
use crate::stored::{Head, commit_time_ms};
use bytes::Bytes;
use obvert_proto::common::v1::Commit;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// A commit that is remembered elsewhere.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Known {
    /// Project id.
    pub project: String,
    /// Revision.
    pub revision: i64,
    /// SHA-256 of the commit as stored.
    pub sha256: [u8; 32],
}

/// Newest commit of each project on the way through a journal.
#[derive(Default)]
pub(crate) struct Chains {
    pub(crate) heads: BTreeMap<String, Head>,
}

impl Chains {
    /// Takes the next commit; it must continue its project's chain.
    pub(crate) fn follow(
        &mut self,
        at: Position,
        bytes: &Bytes,
    ) -> Result<(Arc<Commit>, [u8; 32]), OpenError> {
        let corrupt = |revision: Option<String>, what: String| OpenError::Corrupt {
            volume: at.volume(),
            offset: at.offset(),
            revision,
            what,
        };
        let commit = reader::decode(at, bytes.clone());
        let commit = commit.map_err(|fault| corrupt(None, fault.what))?;
        let head = self.heads.entry(commit.project.clone()).or_default();
        let known = (head.revision > 0).then_some((head.revision, head.hash));
        check_link(&commit, known).map_err(|what| {
            let named = format!("{}@{}", commit.project, commit.revision);
            corrupt(Some(named), what)
        })?;
        let hash = Sha256::digest(bytes).into();
        *head = Head {
            revision: commit.revision,
            hash,
            commit_time_ms: commit_time_ms(&commit),
        };
        Ok((commit, hash))
    }
}

/// Hands every commit with its hash to `visit`, in the order of the journal, and checks the chains.
///
/// # Errors
/// The journal is damaged or newer, the disk refuses, or `visit` does.
pub fn commits(
    folder: &Path,
    visit: &mut dyn FnMut(&Commit, [u8; 32]) -> std::io::Result<()>,
) -> Result<(), ToolError> {
    let mut chains = Chains::default();
    walk(folder, Start::FIRST, &mut |group| {
        for (at, bytes) in &group.commits {
            let (commit, hash) = chains.follow(*at, bytes)?;
            visit(&commit, hash).map_err(OpenError::io("handing on a commit"))?;
        }
        Ok(())
    })?;
    Ok(())
}

/// Checks frames, groups and chains, without the blobs, and that each known commit is the one that
/// is remembered. Damage is an answer, not an error.
///
/// A journal that was cut off or written anew from some commit on is consistent in itself; only a
/// commit known elsewhere tells.
///
/// # Errors
/// A file cannot be read at all, or the journal is newer than this program.
pub fn verify_chains(folder: &Path, known: &[Known]) -> Result<VerifyReport, ToolError> {
    let mut report = VerifyReport::default();
    let mut chains = Chains::default();
    let mut wanted: BTreeMap<_, _> = known
        .iter()
        .map(|known| ((known.project.clone(), known.revision), known.sha256))
        .collect();
    let mut agreed = BTreeMap::new();
    let walked = volume::count(folder).and_then(|volumes| {
        report.volumes = volumes;
        walk(folder, Start::FIRST, &mut |group| {
            for (at, bytes) in &group.commits {
                let (commit, hash) = chains.follow(*at, bytes)?;
                report.commits += 1;
                let place = (commit.project.clone(), commit.revision);
                match wanted.remove(&place) {
                    Some(known) if known == hash => drop(agreed.insert(place.0, place.1)),
                    Some(known) => {
                        report
                            .findings
                            .push(other(*at, &place, &agreed, hash, known));
                    }
                    None => {}
                }
            }
            report.groups += 1;
            Ok(())
        })
    });
    report.heads = chains.heads;
    finish(walked, report, wanted.into_keys().collect())
}

/// A commit that is not the one remembered.
fn other(
    at: Position,
    (project, revision): &(String, i64),
    agreed: &BTreeMap<String, i64>,
    found: [u8; 32],
    known: [u8; 32],
) -> Finding {
    let since = agreed.get(project).copied().unwrap_or_default();
    Finding {
        place: place(at),
        revision: Some(format!("{project}@{revision}")),
        what: format!(
            "the commit has SHA-256 {}, the checkpoint knows {}: the chain was written anew \
             somewhere after {project}@{since}",
            hex(&found),
            hex(&known)
        ),
    }
}

fn finish(
    walked: Result<End, OpenError>,
    mut report: VerifyReport,
    missing: Vec<(String, i64)>,
) -> Result<VerifyReport, ToolError> {
    match walked {
        Ok(end) => {
            report.closed = end.ending == Ending::Closed;
            let at = end.at.unwrap_or(Position::FIRST);
            if let Ending::Tail { bytes, what } = end.ending {
                report.findings.push(Finding {
                    place: place(at),
                    revision: None,
                    what: format!("{bytes} bytes of a group that is not finished: {what}"),
                });
            }
            for (project, revision) in missing {
                let head = report.heads.get(&project).map_or(0, |head| head.revision);
                report.findings.push(Finding {
                    place: place(at),
                    revision: Some(format!("{project}@{revision}")),
                    what: format!(
                        "the checkpoint knows it, but the chain ends at {project}@{head}: what \
                         came after was cut off"
                    ),
                });
            }
            Ok(report)
        }
        Err(OpenError::Corrupt {
            volume,
            offset,
            revision,
            what,
        }) => {
            report.findings.push(Finding {
                place: format!("volume {volume} byte {offset}"),
                revision,
                what,
            });
            Ok(report)
        }
        Err(error) => Err(error.into()),
    }
}

fn place(at: Position) -> String {
    format!("volume {} byte {}", at.volume(), at.offset())
}
