//! What differs between two packages, by what they say and not by their bytes.
//!
//! [`records`] compares the newest state of each record field by field, [`points`] where each hold
//! point stands, and files are compared as they are. What only shows the rest again is left out, such
//! as the document, whose pages carry the revision.

mod fields;
mod points;
mod records;

use std::collections::BTreeMap;

use serde::Serialize;

use crate::{
    Failure,
    verify::{Opened, Verified},
};
pub(crate) use points::PointChange;
pub(crate) use records::{RecordChange, Standing};

/// Files that show the records again; the package's own list of changes is against another one.
const DERIVED: [&str; 4] = [
    "data/changes.json",
    "data/closeout.pdf",
    "data/corrections.json",
    "data/redactions.json",
];

/// Everything that differs.
#[derive(Debug, Serialize)]
pub(crate) struct Difference {
    /// What the packages say of themselves otherwise, though their contents do not make them.
    pub(crate) labels: Vec<LabelChange>,
    pub(crate) records: Vec<RecordChange>,
    pub(crate) points: Vec<PointChange>,
    pub(crate) files: Vec<FileChange>,
}

/// Who signed, or which history stands behind it, and not alike in both packages.
#[derive(Debug, Serialize)]
pub(crate) struct LabelChange {
    pub(crate) label: &'static str,
    pub(crate) old: String,
    pub(crate) new: String,
}

/// A file that is not in both packages with the same bytes.
#[derive(Debug, Serialize)]
pub(crate) struct FileChange {
    pub(crate) path: String,
    pub(crate) standing: Standing,
}

impl Difference {
    /// Compares two packages.
    pub(crate) fn between(
        (older_says, older): &Opened,
        (newer_says, newer): &Opened,
    ) -> Result<Self, Failure> {
        Ok(Self {
            labels: labels(older_says, newer_says),
            records: records::changes(older, newer)?,
            points: points::changes(older, newer)?,
            files: files(older, newer),
        })
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.labels.is_empty()
            && self.records.is_empty()
            && self.points.is_empty()
            && self.files.is_empty()
    }
}

fn labels(older: &Verified, newer: &Verified) -> Vec<LabelChange> {
    let change = |label, old: &String, new: &String| {
        (old != new).then(|| LabelChange {
            label,
            old: old.clone(),
            new: new.clone(),
        })
    };
    let (old, new) = (&older.signer_fingerprint, &newer.signer_fingerprint);
    let signer = change("signer", old, new);
    // One revision of a project has one history; of two revisions each has its own.
    let same_revision = older.revision == newer.revision;
    let chain = change("chain", &older.chain_sha256, &newer.chain_sha256);
    signer
        .into_iter()
        .chain(chain.filter(|_| same_revision))
        .collect()
}

fn files(older: &BTreeMap<String, Vec<u8>>, newer: &BTreeMap<String, Vec<u8>>) -> Vec<FileChange> {
    let told_elsewhere = |path: &str| {
        path.starts_with("data/records/") || path == points::FILE || DERIVED.contains(&path)
    };
    let standing = |path: &String| Standing::of(older.get(path), newer.get(path));
    let mut paths: Vec<_> = older.keys().chain(newer.keys()).collect();
    paths.sort();
    paths.dedup();
    let changed = |path: &String| {
        standing(path).map(|standing| FileChange {
            path: path.clone(),
            standing,
        })
    };
    paths
        .into_iter()
        .filter(|path| !told_elsewhere(path))
        .filter_map(changed)
        .collect()
}
