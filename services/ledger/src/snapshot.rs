//! Everything that belongs to a record at one revision: who refers to it, and what those refer to.

use crate::error::LedgerError;
use crate::ledger::{Inner, Ledger};
use crate::stored::{Stored, project_of};
use std::collections::{BTreeMap, BTreeSet};

/// Records of one snapshot at most.
const LIMIT: usize = 100_000;

/// A record and all that hangs on it at one revision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Snapshot {
    /// Record the snapshot was taken of.
    pub root: String,
    /// Its project.
    pub project: String,
    /// Revision of the project at which everything was read.
    pub revision: i64,
    /// Time of that revision's commit, in milliseconds since 1970.
    pub commit_time_ms: i64,
    /// Names of the root and of those that refer to it, directly or through others: whatever
    /// refers to one of them is in the snapshot.
    pub referring: BTreeSet<String>,
    /// Records by name, each once.
    pub records: Vec<Stored>,
}

impl Ledger {
    /// Follows references backwards from `root` to everything that refers to it, then forwards to
    /// everything those refer to; 0 reads at the newest revision.
    ///
    /// Only records of the root's project belong to it, since a revision counts in one project.
    ///
    /// # Errors
    /// The root does not exist at that revision, the journal or the index is damaged, or the
    /// snapshot would hold more than 100,000 records.
    pub async fn snapshot(&self, root: String, at: i64) -> Result<Snapshot, LedgerError> {
        self.blocking(move |inner| inner.snapshot(root, at)).await
    }
}

impl Inner {
    fn snapshot(&self, root: String, at: i64) -> Result<Snapshot, LedgerError> {
        let project = project_of(&root).to_string();
        let (head, revision) = self.index.read(|view| {
            let head = view.head(&project)?;
            Ok((
                head.clone(),
                if at > 0 {
                    at.min(head.revision)
                } else {
                    head.revision
                },
            ))
        })?;
        let referring = self.referring(&root, revision)?;
        let mut names = referring.clone();
        let mut records = BTreeMap::new();
        while !names.is_empty() {
            let wave: Vec<String> = std::mem::take(&mut names).into_iter().collect();
            for stored in self.load_names(&wave, revision)? {
                let inside = stored
                    .refers
                    .iter()
                    .filter(|name| project_of(name) == project);
                names.extend(inside.cloned());
                records.insert(stored.name.clone(), stored);
            }
            names.retain(|name| !records.contains_key(name));
            check_size(records.len() + names.len(), &root)?;
        }
        if !records.contains_key(&root) {
            return Err(LedgerError::NotFound { name: root });
        }
        let commit_time_ms = if revision == head.revision {
            head.commit_time_ms
        } else {
            let place = self.index.read(|view| view.commit(&project, revision))?;
            let commit = place.map(|at| self.reader.commit(at)).transpose()?;
            commit
                .map(|commit| crate::stored::commit_time_ms(&commit))
                .unwrap_or_default()
        };
        let records = records.into_values().collect();
        Ok(Snapshot {
            root,
            project,
            revision,
            commit_time_ms,
            referring,
            records,
        })
    }

    /// The root and all that refers to it, directly or through others.
    fn referring(&self, root: &str, revision: i64) -> Result<BTreeSet<String>, LedgerError> {
        let mut found = BTreeSet::from([root.to_string()]);
        let mut wave = vec![root.to_string()];
        while let Some(target) = wave.pop() {
            let sources = self
                .index
                .read(|view| view.sources(&target, "", None, LIMIT, revision))?;
            for source in sources {
                if found.insert(source.clone()) {
                    wave.push(source);
                }
            }
            check_size(found.len(), root)?;
        }
        Ok(found)
    }
}

fn check_size(records: usize, root: &str) -> Result<(), LedgerError> {
    if records <= LIMIT {
        return Ok(());
    }
    let what = format!("a snapshot of {root} has more than {LIMIT} records");
    Err(LedgerError::Invalid { what })
}
