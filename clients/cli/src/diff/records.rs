//! Records of two packages: added, gone, or in another state.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

use super::fields::{self, FieldChange};
use crate::Failure;

/// How something stands in the newer package against the older.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Standing {
    Added,
    Gone,
    Changed,
}

impl Standing {
    /// Standing of two things that may be missing; nothing when both are alike.
    pub(super) fn of<T: PartialEq>(older: Option<&T>, newer: Option<&T>) -> Option<Self> {
        match (older, newer) {
            (None, Some(_)) => Some(Self::Added),
            (Some(_), None) => Some(Self::Gone),
            (old, new) => (old != new).then_some(Self::Changed),
        }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::Gone => "gone",
            Self::Changed => "changed",
        }
    }
}

/// A record that is not in both packages in the same state.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct RecordChange {
    pub(crate) name: String,
    /// Type of its message, by which its fields have words.
    #[serde(skip)]
    pub(crate) type_name: String,
    pub(crate) standing: Standing,
    pub(crate) old_revision: Option<u64>,
    pub(crate) new_revision: Option<u64>,
    /// Why the newer state was written, by whom.
    pub(crate) reason: String,
    pub(crate) principal: String,
    pub(crate) fields: Vec<FieldChange>,
}

/// Newest state of a record in a package.
#[derive(PartialEq)]
struct State {
    revision: u64,
    file: Value,
}

pub(super) fn changes(
    older: &BTreeMap<String, Vec<u8>>,
    newer: &BTreeMap<String, Vec<u8>>,
) -> Result<Vec<RecordChange>, Failure> {
    let (older, newer) = (states(older)?, states(newer)?);
    let mut names: Vec<_> = older.keys().chain(newer.keys()).collect();
    names.sort();
    names.dedup();
    let change = |name: &String| {
        let (old, new) = (older.get(name), newer.get(name));
        let standing = Standing::of(old, new)?;
        let record = |state: Option<&State>| state.map(|s| s.file["record"].clone());
        let words = |key: &str| new.and_then(|s| s.file[key].as_str()).unwrap_or_default();
        Some(RecordChange {
            name: name.clone(),
            type_name: words("type").to_owned(),
            standing,
            old_revision: old.map(|state| state.revision),
            new_revision: new.map(|state| state.revision),
            reason: words("reason").to_owned(),
            principal: words("principal").to_owned(),
            fields: match (record(old), record(new)) {
                (Some(old), Some(new)) => fields::changes(&old, &new),
                _ => Vec::new(),
            },
        })
    };
    Ok(names.into_iter().filter_map(change).collect())
}

fn states(payload: &BTreeMap<String, Vec<u8>>) -> Result<BTreeMap<String, State>, Failure> {
    let mut states = BTreeMap::<String, State>::new();
    for (path, bytes) in payload
        .iter()
        .filter(|(p, _)| p.starts_with("data/records/"))
    {
        let file: Value =
            serde_json::from_slice(bytes).map_err(|error| Failure::data(path, error))?;
        let name = file["name"].as_str().unwrap_or(path).to_owned();
        let revision = file["revision"].as_u64().unwrap_or_default();
        let known = states.get(&name).map_or(0, |state| state.revision);
        if revision >= known {
            states.insert(name, State { revision, file });
        }
    }
    Ok(states)
}
