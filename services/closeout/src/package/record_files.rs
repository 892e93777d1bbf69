//! Records, verdicts and plan as files of the payload.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use obvert_access::OFFICE;
use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    closeout::v1::{Package, SegmentStatus},
};
use obvert_records::names;
use prost::Name;
use serde_json::{Map, Value, json};

use super::{
    Sources, json_schema,
    proto_json::{json_of, json_of_message, text},
};

/// Adds the records with their schemas, the verdicts and the plan.
pub(super) fn add(files: &mut BTreeMap<String, Vec<u8>>, sources: &Sources) -> Result<(), Problem> {
    let mut types = BTreeSet::new();
    for stored in stored(sources) {
        types.insert(stored.type_name.as_str());
        files.insert(path_of(stored), text(&file_of(stored)?));
    }
    for type_name in types {
        let schema = json_schema::record_schema_text(type_name);
        files.insert(format!("data/schema/{type_name}.schema.json"), schema);
    }
    let verdicts = text(&json_schema::message_schema(&SegmentStatus::full_name()));
    files.insert("data/schema/verdicts.schema.json".to_owned(), verdicts);
    files.insert(
        "data/verdicts.json".to_owned(),
        text(&json_of_message(&sources.status)?),
    );
    files.insert(
        "data/plan.toml".to_owned(),
        sources.loaded.plan_source.clone().into_bytes(),
    );
    Ok(())
}

/// Every state that the package carries, each once.
fn stored(sources: &Sources) -> impl Iterator<Item = &Stored> {
    let gathered = &sources.loaded.gathered;
    let all = std::iter::once(&gathered.project)
        .chain(&gathered.records)
        .chain(&gathered.former);
    let last = sources
        .replaced
        .as_ref()
        .map(|issue| issue.package.name.as_str());
    // Of the packages before, the last one stands for its forerunners, which it names in turn.
    let wanted = move |stored: &&Stored| {
        stored.type_name != Package::full_name() || last == Some(stored.name.as_str())
    };
    all.chain(sources.histories.iter().flatten()).filter(wanted)
}

/// Path of a record's state: collection, id and revision.
pub(super) fn path_of(stored: &Stored) -> String {
    path_of_state(&stored.name, stored.revision)
}

/// Path of a record's state by name and revision.
pub(super) fn path_of_state(name: &str, revision: i64) -> String {
    let Some(parts) = names::parse(name) else {
        return format!("data/records/other/{revision}.json");
    };
    let office = if parts.project == OFFICE {
        "office."
    } else {
        ""
    };
    format!(
        "data/records/{office}{}/{}-r{revision}.json",
        parts.collection, parts.id
    )
}

/// A record with what the ledger knows of it.
fn file_of(stored: &Stored) -> Result<Value, Problem> {
    let mut file = Map::new();
    let mut put = |key: &str, value: Value| file.insert(key.to_owned(), value);
    put("name", json!(stored.name));
    put("revision", json!(stored.revision));
    put("createRevision", json!(stored.create_revision));
    put("type", json!(stored.type_name));
    put("commitTime", json!(time(stored.commit_time_ms)));
    if let Some(observed) = stored.observed_time_ms {
        put("observedTime", json!(time(observed)));
    }
    put("principal", json!(stored.caller.principal));
    put("role", json!(stored.caller.role));
    if !stored.reason.is_empty() {
        put("reason", json!(stored.reason));
    }
    put("record", json_of(&stored.type_name, &stored.body)?);
    Ok(Value::Object(file))
}

/// A time in UTC, as RFC 3339 writes it.
pub(super) fn time(ms: i64) -> String {
    Timestamp::from_millisecond(ms)
        .unwrap_or_default()
        .to_string()
}
