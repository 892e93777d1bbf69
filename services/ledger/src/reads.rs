//! Reading records. The index is asked under its lock; commits are read from the journal after.

use crate::error::LedgerError;
use crate::index::keys::State;
use crate::index::read::Found;
use crate::journal::Position;
use crate::ledger::{Inner, Ledger};
use crate::overlay::IndexFault;
use crate::stored::{Head, Page, Stored, project_of};
use bytes::Bytes;
use obvert_proto::common::v1::Commit;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Items of one page at most.
const PAGE_LIMIT: usize = 1000;

impl Ledger {
    /// One record at a revision of its project, or its latest state for 0.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn get(&self, name: String, at: i64) -> Result<Option<Stored>, LedgerError> {
        self.blocking(move |inner| {
            let state = inner.index.read(|view| view.state(&name, at))?;
            state.map(|state| inner.load(&name, state)).transpose()
        })
        .await
    }

    /// Several records; those that do not exist are left out.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn get_many(&self, names: Vec<String>, at: i64) -> Result<Vec<Stored>, LedgerError> {
        self.blocking(move |inner| inner.load_names(&names, at))
            .await
    }

    /// Records of one collection by name, at most 1,000 a page; 0 reads at the newest revision.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn list(
        &self,
        project: String,
        collection: String,
        after: Option<String>,
        limit: usize,
        at: i64,
    ) -> Result<Page<Stored>, LedgerError> {
        self.blocking(move |inner| {
            let prefix = format!("projects/{project}/{collection}/");
            let limit = limit.clamp(1, PAGE_LIMIT);
            let found = inner.index.read(|view| {
                let at = view.resolve(&project, at)?;
                view.list(&prefix, after.as_deref(), limit + 1, at)
            })?;
            let (found, next) = cut(found, limit, |found| found.name.clone());
            let items = found
                .into_iter()
                .map(|Found { name, state }| inner.load(&name, state));
            Ok(Page {
                items: items.collect::<Result<_, _>>()?,
                next,
            })
        })
        .await
    }

    /// Records that refer to `target`, by name; of one collection, such as `liners`, if given.
    ///
    /// Records of other projects are found at their latest state, and only for revision 0.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn referrers(
        &self,
        target: String,
        collection: Option<String>,
        after: Option<String>,
        limit: usize,
        at: i64,
    ) -> Result<Page<Stored>, LedgerError> {
        self.blocking(move |inner| {
            let project = project_of(&target).to_string();
            let prefix = collection.map(|collection| format!("projects/{project}/{collection}/"));
            let prefix = prefix.unwrap_or_default();
            let limit = limit.clamp(1, PAGE_LIMIT);
            let names = inner
                .index
                .read(|view| view.sources(&target, &prefix, after.as_deref(), limit + 1, at))?;
            let (names, next) = cut(names, limit, String::clone);
            Ok(Page {
                items: inner.load_names(&names, at)?,
                next,
            })
        })
        .await
    }

    /// Every record of some collections that refers to any of the targets, each once for each
    /// target. One call for many targets, since the way to the store costs more than the look into
    /// it. Nothing is left out: a list cut short could hide what speaks against a release.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn referrers_of_all(
        &self,
        targets: Vec<String>,
        collections: &'static [&'static str],
        at: i64,
    ) -> Result<Vec<Stored>, LedgerError> {
        self.blocking(move |inner| {
            let mut names = Vec::new();
            for target in &targets {
                for collection in collections {
                    let prefix = format!("projects/{}/{collection}/", project_of(target));
                    let found = inner
                        .index
                        .read(|view| view.sources(target, &prefix, None, usize::MAX, at))?;
                    names.extend(found);
                }
            }
            inner.load_names(&names, at)
        })
        .await
    }

    /// Records of some collections that referred to one of the targets and do not at a revision, each
    /// once, in the state that gave the reference up.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn former_referrers(
        &self,
        targets: Vec<String>,
        collections: &'static [&'static str],
        at: i64,
    ) -> Result<Vec<Stored>, LedgerError> {
        self.blocking(move |inner| {
            let mut left = BTreeMap::new();
            for target in &targets {
                let found = inner.index.read(|view| view.former_sources(target, at))?;
                left.extend(found.into_iter().filter(|(name, _)| {
                    collections.contains(&name.split('/').nth(2).unwrap_or_default())
                }));
            }
            let mut stored = Vec::with_capacity(left.len());
            for (name, ended) in left {
                stored.extend(inner.load_names(&[name], ended)?);
            }
            Ok(stored)
        })
        .await
    }

    /// States of a record written after a revision, oldest first; `next` is a revision.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn history(
        &self,
        name: String,
        after: i64,
        limit: usize,
    ) -> Result<Page<Stored>, LedgerError> {
        self.blocking(move |inner| {
            let limit = limit.clamp(1, PAGE_LIMIT);
            let states = inner
                .index
                .read(|view| view.history(&name, after, limit + 1))?;
            let (states, next) = cut(states, limit, |state: &State| state.revision.to_string());
            let items = states.into_iter().map(|state| inner.load(&name, state));
            Ok(Page {
                items: items.collect::<Result<_, _>>()?,
                next,
            })
        })
        .await
    }

    /// Ids of the projects that have a commit, sorted.
    ///
    /// # Errors
    /// The index is damaged, or the ledger is closed.
    pub async fn projects(&self) -> Result<Vec<String>, LedgerError> {
        self.blocking(|inner| inner.index.read(|view| view.projects()))
            .await
    }

    /// Newest commit of a project; revision 0 for a project without one.
    ///
    /// # Errors
    /// The index is damaged, or the ledger is closed.
    pub async fn head(&self, project: String) -> Result<Head, LedgerError> {
        match self.inner.index.known_head(&project) {
            Some(head) => Ok(head),
            None => self.blocking(move |inner| inner.index.head(&project)).await,
        }
    }

    /// Revision that a principal's request made before, and the digest of that request.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn replay(
        &self,
        project: String,
        principal: String,
        request_id: String,
    ) -> Result<Option<(i64, [u8; 32])>, LedgerError> {
        if request_id.is_empty() {
            return Ok(None);
        }
        self.blocking(move |inner| {
            let place = inner.index.read(|view| {
                let revision = view.request(&project, &principal, &request_id)?;
                let place = revision.map(|revision| view.commit(&project, revision));
                Ok(place.transpose()?.flatten())
            })?;
            let Some(at) = place else {
                return Ok(None);
            };
            let commit = inner.reader.commit(at)?;
            let digest = commit.request_digest.as_slice().try_into();
            Ok(Some((commit.revision, digest.unwrap_or_default())))
        })
        .await
    }

    /// Stored bytes of one commit, the bytes whose hash the next commit names.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn commit_bytes(
        &self,
        project: String,
        revision: i64,
    ) -> Result<Option<Bytes>, LedgerError> {
        self.blocking(move |inner| {
            let place = inner.index.read(|view| view.commit(&project, revision))?;
            Ok(place.map(|at| inner.reader.bytes(at)).transpose()?)
        })
        .await
    }

    /// Commits of a project after a revision, oldest first, at most 1,000.
    ///
    /// # Errors
    /// The journal or the index is damaged, or the ledger is closed.
    pub async fn commits(
        &self,
        project: String,
        after: i64,
        limit: usize,
    ) -> Result<Vec<Commit>, LedgerError> {
        self.blocking(move |inner| {
            let limit = limit.clamp(1, PAGE_LIMIT);
            let places = inner
                .index
                .read(|view| view.commits(&project, after, limit))?;
            let read = |at: Position| Ok(Arc::unwrap_or_clone(inner.reader.commit(at)?));
            places.into_iter().map(read).collect()
        })
        .await
    }

    /// Runs a read where it may wait for the disk.
    pub(crate) async fn blocking<T: Send + 'static>(
        &self,
        read: impl FnOnce(&Inner) -> Result<T, LedgerError> + Send + 'static,
    ) -> Result<T, LedgerError> {
        let inner = Arc::clone(&self.inner);
        let answer = tokio::task::spawn_blocking(move || read(&inner)).await;
        answer.unwrap_or_else(|error| {
            Err(LedgerError::Index {
                what: error.to_string(),
            })
        })
    }
}

impl Inner {
    /// Reads a record's state from the journal.
    pub(crate) fn load(&self, name: &str, state: State) -> Result<Stored, LedgerError> {
        let commit = self.reader.commit(state.at)?;
        let stored = Stored::pick(&commit, state.entry as usize, state.create_revision);
        let stored = stored.filter(|stored| stored.name == name);
        stored.ok_or_else(|| {
            let what = format!("the index entry of {name} does not fit the journal");
            self.index.fail(IndexFault(what))
        })
    }

    pub(crate) fn load_names(&self, names: &[String], at: i64) -> Result<Vec<Stored>, LedgerError> {
        let mut stored = Vec::with_capacity(names.len());
        let states = self.index.read(|view| {
            names
                .iter()
                .map(|name| view.state(name, at))
                .collect::<Result<Vec<_>, _>>()
        })?;
        for (name, state) in names.iter().zip(states) {
            if let Some(state) = state {
                stored.push(self.load(name, state)?);
            }
        }
        Ok(stored)
    }
}

/// Cuts a list that was read one longer than asked, to know whether it goes on.
fn cut<T>(
    mut items: Vec<T>,
    limit: usize,
    cursor: impl Fn(&T) -> String,
) -> (Vec<T>, Option<String>) {
    let more = items.len() > limit;
    items.truncate(limit);
    let next = if more { items.last().map(cursor) } else { None };
    (items, next)
}
