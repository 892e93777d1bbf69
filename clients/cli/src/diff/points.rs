//! Hold points of two packages: where each stands.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

use crate::Failure;

/// File of a package that holds where each point stands.
pub(super) const FILE: &str = "data/verdicts.json";

/// A point that does not stand alike in both packages.
#[derive(Debug, Serialize)]
pub(crate) struct PointChange {
    pub(crate) point: String,
    /// State before, such as `held`; nothing where the plan had no such point.
    pub(crate) old: Option<String>,
    /// State after.
    pub(crate) new: Option<String>,
    /// Whether the facts that it rests on changed; a point that was added or is gone had no others.
    pub(crate) facts: bool,
}

pub(super) fn changes(
    older: &BTreeMap<String, Vec<u8>>,
    newer: &BTreeMap<String, Vec<u8>>,
) -> Result<Vec<PointChange>, Failure> {
    let (older, newer) = (points(older)?, points(newer)?);
    let mut names: Vec<_> = older.keys().chain(newer.keys()).collect();
    names.sort();
    names.dedup();
    let change = |name: &String| {
        let (old, new) = (older.get(name), newer.get(name));
        (old != new).then(|| PointChange {
            point: name.clone(),
            old: old.map(|(state, _)| state.clone()),
            new: new.map(|(state, _)| state.clone()),
            facts: old.zip(new).is_some_and(|(old, new)| old.1 != new.1),
        })
    };
    Ok(names.into_iter().filter_map(change).collect())
}

/// State and digest of facts by the id of the point.
fn points(
    payload: &BTreeMap<String, Vec<u8>>,
) -> Result<BTreeMap<String, (String, String)>, Failure> {
    let bytes = payload.get(FILE).map_or(&b"{}"[..], Vec::as_slice);
    let file: Value = serde_json::from_slice(bytes).map_err(|error| Failure::data(FILE, error))?;
    let word = |point: &Value, key: &str| point[key].as_str().unwrap_or_default().to_owned();
    let state = |point: &Value| {
        let state = word(point, "state");
        let state = state.trim_start_matches("POINT_STATE_").to_lowercase();
        state.replace('_', " ")
    };
    let rows = file["points"].as_array().into_iter().flatten();
    Ok(rows
        .map(|point| {
            (
                word(point, "point"),
                (state(point), word(point, "factsDigest")),
            )
        })
        .collect())
}
