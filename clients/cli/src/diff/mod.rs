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

use crate::Failure;
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
    pub(crate) records: Vec<RecordChange>,
    pub(crate) points: Vec<PointChange>,
    pub(crate) files: Vec<FileChange>,
}

/// A file that is not in both packages with the same bytes.
#[derive(Debug, Serialize)]
pub(crate) struct FileChange {
    pub(crate) path: String,
    pub(crate) standing: Standing,
}

impl Difference {
    /// Compares two payloads.
    pub(crate) fn between(
        older: &BTreeMap<String, Vec<u8>>,
        newer: &BTreeMap<String, Vec<u8>>,
    ) -> Result<Self, Failure> {
        Ok(Self {
            records: records::changes(older, newer)?,
            points: points::changes(older, newer)?,
            files: files(older, newer),
        })
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.records.is_empty() && self.points.is_empty() && self.files.is_empty()
    }
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
