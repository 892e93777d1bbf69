//! What differs from the package that was issued before: records, points and the plan.

use std::collections::BTreeMap;

use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    closeout::v1::{Package, PointState, SegmentStatus},
    common::v1::RecordRef,
};
use prost::Name;
use serde_json::{Value, json};

use super::{
    Sources,
    corrections::{FieldChange, compared},
    words,
};
use crate::{load::Loaded, segment_file::SegmentFile};

/// What differs from an earlier package.
pub(super) struct Since {
    /// Record of that package, and its file.
    pub(super) package: RecordRef,
    pub(super) project_revision: i64,
    pub(super) file_name: String,
    pub(super) sha256: String,
    pub(super) records: Vec<RecordChange>,
    pub(super) points: Vec<PointChange>,
    /// Plan then and now, where another judged.
    pub(super) plan: Option<[String; 2]>,
}

/// A record that is not on file in the same state.
pub(super) struct RecordChange {
    pub(super) name: String,
    /// `added`, `changed` or `gone`.
    pub(super) standing: &'static str,
    pub(super) old_revision: Option<i64>,
    pub(super) new_revision: Option<i64>,
    pub(super) principal: String,
    pub(super) reason: String,
    pub(super) fields: Vec<FieldChange>,
}

/// A point that stands otherwise, or on other facts.
pub(super) struct PointChange {
    pub(super) point: String,
    pub(super) title: String,
    pub(super) old: &'static str,
    pub(super) new: &'static str,
    pub(super) other_facts: bool,
}

/// Compares with the package before; none for the first.
pub(super) fn since(sources: &Sources) -> Result<Option<Since>, Problem> {
    let Some(issue) = &sources.replaced else {
        return Ok(None);
    };
    let (before, now) = (states(&issue.loaded), states(&sources.loaded));
    let (old, new) = (&issue.loaded.plan_ref, &sources.loaded.plan_ref);
    Ok(Some(Since {
        package: issue.package.record(),
        project_revision: issue.package.project_revision,
        file_name: issue.package.file_name.clone(),
        sha256: issue.package.sha256.clone(),
        records: records(&before, &now)?,
        points: points(&issue.status, &sources.status),
        plan: (old != new).then(|| [old, new].map(|plan| words::reference(Some(plan)))),
    }))
}

/// How many packages of the segment there are with this one.
pub(super) fn issue_number(file: &SegmentFile) -> usize {
    file.packages.len() + 1
}

/// The package that this one replaces, as a label of the bag says it.
pub(super) fn replaces(since: Option<&Since>) -> String {
    since.map_or("none, it is the first".to_owned(), |since| {
        format!("{}@{}", since.package.name, since.package.revision)
    })
}

/// What differs, as a file.
pub(super) fn file(since: Option<&Since>) -> Value {
    let Some(since) = since else {
        return json!({"previous": null, "records": [], "points": [], "plan": null});
    };
    let field = |f: &FieldChange| json!({"field": f.path, "old": f.old, "new": f.new});
    let record = |r: &RecordChange| {
        json!({
            "name": r.name,
            "standing": r.standing,
            "oldRevision": r.old_revision,
            "newRevision": r.new_revision,
            "principal": r.principal,
            "reason": r.reason,
            "fields": r.fields.iter().map(field).collect::<Vec<_>>(),
        })
    };
    let point = |p: &PointChange| json!({"point": p.point, "old": p.old, "new": p.new, "otherFacts": p.other_facts});
    json!({
        "previous": {
            "package": since.package.name,
            "revision": since.package.revision,
            "projectRevision": since.project_revision,
            "fileName": since.file_name,
            "sha256": since.sha256,
        },
        "records": since.records.iter().map(record).collect::<Vec<_>>(),
        "points": since.points.iter().map(point).collect::<Vec<_>>(),
        "plan": since.plan.as_ref().map(|[old, new]| json!({"old": old, "new": new})),
    })
}

/// Latest states by name; packages say nothing of the work.
fn states(loaded: &Loaded) -> BTreeMap<&str, &Stored> {
    let gathered = &loaded.gathered;
    let all = std::iter::once(&gathered.project).chain(&gathered.records);
    all.filter(|stored| stored.type_name != Package::full_name())
        .map(|stored| (stored.name.as_str(), stored))
        .collect()
}

fn records(
    before: &BTreeMap<&str, &Stored>,
    now: &BTreeMap<&str, &Stored>,
) -> Result<Vec<RecordChange>, Problem> {
    let gone = before.keys().filter(|name| !now.contains_key(*name));
    let mut names: Vec<_> = now.keys().chain(gone).copied().collect();
    names.sort_unstable();
    let mut changes = Vec::new();
    for name in names {
        let (old, new) = (before.get(name).copied(), now.get(name).copied());
        let standing = match (old, new) {
            (Some(old), Some(new)) if old.revision == new.revision => continue,
            (Some(_), Some(_)) => "changed",
            (None, _) => "added",
            (_, None) => "gone",
        };
        changes.push(RecordChange {
            name: name.to_owned(),
            standing,
            old_revision: old.map(|stored| stored.revision),
            new_revision: new.map(|stored| stored.revision),
            principal: new.map_or(String::new(), |stored| stored.caller.principal.clone()),
            reason: new.map_or(String::new(), |stored| stored.reason.clone()),
            fields: match (old, new) {
                (Some(old), Some(new)) => compared(old, new)?,
                _ => Vec::new(),
            },
        });
    }
    Ok(changes)
}

fn points(before: &SegmentStatus, now: &SegmentStatus) -> Vec<PointChange> {
    let then = |id: &str| before.points.iter().find(|point| point.point == id);
    let here = |id: &str| now.points.iter().any(|point| point.point == id);
    let mut changes = Vec::new();
    for point in &now.points {
        let old = then(&point.point);
        let other_facts = old.is_some_and(|old| old.facts_digest != point.facts_digest);
        if other_facts || old.is_none_or(|old| old.state() != point.state()) {
            changes.push(PointChange {
                point: point.point.clone(),
                title: point.title.clone(),
                old: old.map_or("not in the plan", |old| word(old.state())),
                new: word(point.state()),
                other_facts,
            });
        }
    }
    for point in before.points.iter().filter(|point| !here(&point.point)) {
        changes.push(PointChange {
            point: point.point.clone(),
            title: point.title.clone(),
            old: word(point.state()),
            new: "not in the plan",
            other_facts: false,
        });
    }
    changes
}

fn word(state: PointState) -> &'static str {
    match state {
        PointState::Released => "released",
        PointState::Variance => "passed with a variance",
        PointState::NotApplicable => "not applicable",
        PointState::AwaitsRelease => "awaits release",
        PointState::Held | PointState::Unspecified => "held",
    }
}
