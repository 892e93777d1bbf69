//! What differs from the package that was issued before.

use obvert_typeset::segment_sheet::{ChangedPoint, ChangedRecord, Changes};

use super::{View, field_values::said};
use crate::package::{
    corrections::FieldChange,
    since::{PointChange, RecordChange, Since},
    words::{self, counted, counts},
};

/// Records that the document lists; the file in the package lists all.
const RECORDS: usize = 100;
/// Fields of one record that the document lists.
const FIELDS: usize = 6;

pub(super) fn changes(view: &View<'_>) -> Changes {
    let Some(since) = view.since else {
        return Changes {
            words: "This is the first package of this segment.".to_owned(),
            ..Changes::default()
        };
    };
    let records = since.records.iter().take(RECORDS);
    let records = records.map(|change| record(view, change));
    Changes {
        words: in_words(since),
        records: records.collect(),
        points: since.points.iter().map(point).collect(),
    }
}

fn in_words(since: &Since) -> String {
    let package = words::record(&since.package.name, since.package.revision);
    let mut words = format!(
        "This package replaces {package} ({}), which showed revision @{}. ",
        since.file_name, since.project_revision
    );
    if let Some([old, new]) = &since.plan {
        words.push_str(&format!("It was judged by {old}, this one by {new}. "));
    }
    if since.records.is_empty() && since.points.is_empty() {
        words.push_str("Nothing differs but the revision.");
        return words;
    }
    let of = |standing| {
        since
            .records
            .iter()
            .filter(move |r| r.standing == standing)
            .count()
    };
    let records = counts([
        (of("added"), "added"),
        (of("changed"), "changed"),
        (of("gone"), "gone from it"),
    ]);
    if !records.is_empty() {
        words.push_str(&format!(
            "Records of the segment's file since then: {records}. "
        ));
    }
    if !since.points.is_empty() {
        let points = counted(since.points.len(), "point stands", "points stand");
        words.push_str(&format!("Since then {points} otherwise or on other facts."));
    }
    if since.records.len() > RECORDS {
        words.push_str(&format!(
            " The first {RECORDS} records are listed here, all in data/changes.json."
        ));
    }
    words
}

fn record(view: &View<'_>, change: &RecordChange) -> ChangedRecord {
    let revision = change
        .new_revision
        .or(change.old_revision)
        .unwrap_or_default();
    let listed = change.fields.iter().take(FIELDS);
    let mut fields: Vec<_> = listed.map(|changed| field(view, changed)).collect();
    if change.fields.len() > FIELDS {
        let more = counted(
            change.fields.len() - FIELDS,
            "further field",
            "further fields",
        );
        fields.push(format!("{more} in data/changes.json"));
    }
    ChangedRecord {
        record: words::record(&change.name, revision),
        standing: match change.old_revision {
            Some(old) if change.new_revision.is_some() => {
                format!("{} from @{old}", change.standing)
            }
            _ => change.standing.to_owned(),
        },
        fields,
        reason: words::or(&change.reason, "no reason given"),
        by: change.principal.clone(),
    }
}

fn field(view: &View<'_>, change: &FieldChange) -> String {
    let label = &change.words.label;
    // Nobody reads a digest: that it is another one says all.
    if change.path.ends_with("Digest") || change.path.ends_with("Sha256") {
        return format!("{label}: another one");
    }
    let old = said(view, change, &change.old, "not given");
    let new = said(view, change, &change.new, "taken out");
    format!("{label}: {old}, now {new}")
}

fn point(change: &PointChange) -> ChangedPoint {
    let facts = if change.other_facts {
        ", on other facts"
    } else {
        ""
    };
    ChangedPoint {
        point: change.point.clone(),
        title: change.title.clone(),
        was: change.old.to_owned(),
        is: format!("{}{facts}", change.new),
    }
}
