//! What was changed after it was first recorded: each field with its old and its new value.

use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    rules::{FieldWords, field_words},
};
use serde_json::{Value, json};

use super::{Sources, proto_json::json_of, record_files::time};

/// One later state of a record, beside the state before it.
pub(super) struct Change {
    pub(super) name: String,
    pub(super) revision: i64,
    pub(super) old_revision: i64,
    pub(super) commit_time_ms: i64,
    pub(super) principal: String,
    pub(super) role: String,
    pub(super) reason: String,
    pub(super) fields: Vec<FieldChange>,
}

/// One field that differs; a value that is absent is empty.
pub(super) struct FieldChange {
    pub(super) path: String,
    /// The same for people.
    pub(super) words: FieldWords,
    pub(super) old: String,
    pub(super) new: String,
}

/// Every later state, in order of names and revisions.
pub(super) fn changes(sources: &Sources) -> Result<Vec<Change>, Problem> {
    let mut changes = Vec::new();
    for states in &sources.histories {
        for pair in states.windows(2) {
            changes.push(change(&pair[0], &pair[1])?);
        }
    }
    Ok(changes)
}

/// The changes as a file.
pub(super) fn file(changes: &[Change]) -> Value {
    let field =
        |field: &FieldChange| json!({"field": field.path, "old": field.old, "new": field.new});
    let rows = changes.iter().map(|change| {
        json!({
            "name": change.name,
            "revision": change.revision,
            "previousRevision": change.old_revision,
            "commitTime": time(change.commit_time_ms),
            "principal": change.principal,
            "role": change.role,
            "reason": change.reason,
            "fields": change.fields.iter().map(field).collect::<Vec<_>>(),
        })
    });
    json!({"corrections": rows.collect::<Vec<_>>()})
}

/// Every field that two states do not share.
pub(super) fn compared(old: &Stored, new: &Stored) -> Result<Vec<FieldChange>, Problem> {
    let mut fields = Vec::new();
    let (before, after) = (
        json_of(&old.type_name, &old.body)?,
        json_of(&new.type_name, &new.body)?,
    );
    compare("", Some(&before), Some(&after), &mut fields);
    for field in &mut fields {
        field.words = field_words(&new.type_name, &field.path);
    }
    Ok(fields)
}

fn change(old: &Stored, new: &Stored) -> Result<Change, Problem> {
    Ok(Change {
        name: new.name.clone(),
        revision: new.revision,
        old_revision: old.revision,
        commit_time_ms: new.commit_time_ms,
        principal: new.caller.principal.clone(),
        role: new.caller.role.clone(),
        reason: new.reason.clone(),
        fields: compared(old, new)?,
    })
}

fn compare(path: &str, old: Option<&Value>, new: Option<&Value>, found: &mut Vec<FieldChange>) {
    match (old, new) {
        (old, new) if old == new => {}
        (Some(Value::Object(before)), Some(Value::Object(after))) => {
            let added = after.keys().filter(|key| !before.contains_key(*key));
            for key in before.keys().chain(added) {
                let path = if path.is_empty() {
                    key.clone()
                } else {
                    format!("{path}.{key}")
                };
                compare(&path, before.get(key), after.get(key), found);
            }
        }
        (Some(Value::Array(before)), Some(Value::Array(after))) => {
            for place in 0..before.len().max(after.len()) {
                let path = format!("{path}[{place}]");
                compare(&path, before.get(place), after.get(place), found);
            }
        }
        (old, new) => {
            found.push(FieldChange {
                path: path.to_owned(),
                words: FieldWords::default(),
                old: shown(old),
                new: shown(new),
            });
        }
    }
}

fn shown(value: Option<&Value>) -> String {
    match value {
        None => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(value) => value.to_string(),
    }
}
