//! Who did what and when, as JSON objects, one a row: commits without their bodies, then the events
//! of the access log.

use std::{
    io::{BufWriter, Write},
    path::Path,
};

use obvert_access::log::LOG_NAME;
use obvert_ledger::{
    hex,
    tools::{ACCESS_LOG, commits},
};
use obvert_proto::{
    common::v1::{AccessEvent, AccessEventKind, AccessEvents, Commit},
    dates::instant,
};
use prost::Message;
use prost_types::Timestamp;
use serde_json::{Value, json};

use super::{printed, require_store};
use crate::Ended;

/// Prints everything, or what concerns one project.
pub(super) fn print(folder: &Path, project: Option<&str>) -> Result<(), Ended> {
    require_store(folder)?;
    let mut out = BufWriter::new(std::io::stdout().lock());
    let wanted = |name: &str| project.is_none_or(|project| project == name);
    let written = commits(folder, &mut |commit, hash| {
        if wanted(&commit.project) {
            writeln!(out, "{}", commit_row(commit, hash))?;
        }
        Ok(())
    });
    written.map_err(printed)?;
    let written = commits(&folder.join(ACCESS_LOG), &mut |commit, _| {
        for entry in &commit.entries {
            let events = AccessEvents::decode(entry.body.as_ref());
            for event in events.map_err(std::io::Error::other)?.events {
                if project.is_none() || event.projects.iter().any(|name| wanted(name)) {
                    writeln!(out, "{}", event_row(&event, commit.revision))?;
                }
            }
        }
        Ok(())
    });
    written.map_err(printed)?;
    out.flush().map_err(|error| super::unread(folder, error))
}

fn commit_row(commit: &Commit, hash: [u8; 32]) -> Value {
    let caller = commit.caller.clone().unwrap_or_default();
    let records: Vec<_> = commit
        .entries
        .iter()
        .map(|entry| json!({"name": entry.name, "type": entry.type_name}))
        .collect();
    json!({
        "kind": "commit",
        "project": commit.project,
        "revision": commit.revision,
        "sha256": hex(&hash),
        "commitTime": time(commit.commit_time.as_ref()),
        "observedTime": time(commit.observed_time.as_ref()),
        "principal": caller.principal,
        "role": caller.role,
        "keyId": caller.key_id,
        "requestId": commit.request_id,
        "reason": commit.reason,
        "records": records,
    })
}

fn event_row(event: &AccessEvent, entry: i64) -> Value {
    let kind = match event.kind() {
        AccessEventKind::Denied => "denied",
        AccessEventKind::PersonalDataRead => "personalDataRead",
        AccessEventKind::LinkDownload => "linkDownload",
        AccessEventKind::Unspecified => "unknown",
    };
    json!({
        "kind": kind,
        "log": LOG_NAME,
        "entry": entry,
        "firstTime": time(event.first_time.as_ref()),
        "lastTime": time(event.last_time.as_ref()),
        "count": event.count,
        "principal": event.principal,
        "role": event.role,
        "keyId": event.key_id,
        "methods": event.methods,
        "projects": event.projects,
        "reason": event.reason,
        "peerAddress": event.peer_address,
        "record": event.record,
    })
}

fn time(time: Option<&Timestamp>) -> Option<String> {
    time.and_then(instant).map(|time| time.to_string())
}
