//! Records that a revision moved off a segment: what was said of it once stays in its file.
//!
//! A correction of a wrong segment is lawful, and it may also hide a test that failed. The record counts
//! for the segment no more; that it once did holds the acceptance until somebody who may decide has
//! closed a nonconformance about both.

use std::collections::BTreeMap;

use obvert_ledger::{Ledger, Stored};
use obvert_proto::{Problem, common::v1::RecordRef, kind_in_words};
use obvert_records::{names, refusal};

use crate::{
    hold_points::{Found, found, kind_word},
    segment_file::SegmentFile,
};

/// Collections whose records may speak against a segment, by the collection of what they name. Papers
/// and notices only ever speak for it; orders are plans, and go to other segments as work does.
const SPEAKING: &[(&str, &[&str])] = &[
    (
        "segments",
        &[
            "claims",
            "designs",
            "fieldSurveys",
            "hydraulicChecks",
            "lateralRegisters",
            "laterals",
            "leakTests",
            "nonconformances",
            "pressureDesigns",
            "pullInChecks",
            "runs",
            "samples",
            "surveys",
        ],
    ),
    ("laterals", &["lateralOutcomes"]),
    ("runs", &["cureRecords", "dayCloses"]),
    ("samples", &["laboratoryReports"]),
];

/// A record that was moved away.
#[derive(Debug, Clone)]
pub struct Moved {
    /// The record, in the state that moved it.
    pub record: RecordRef,
    /// Who wrote that state.
    pub principal: String,
    /// Under which role.
    pub role: String,
    /// The reason given.
    pub reason: String,
}

impl Moved {
    pub(crate) fn of(stored: &Stored) -> Self {
        Self {
            record: RecordRef {
                name: stored.name.clone(),
                revision: stored.revision,
            },
            principal: stored.caller.principal.clone(),
            role: stored.caller.role.clone(),
            reason: stored.reason.clone(),
        }
    }
}

/// Records that once named the segment, or a lateral, run or sample of it, and name none of them at a
/// revision; each in the state that moved it.
pub(crate) async fn moved_away(
    ledger: &Ledger,
    segment: &str,
    records: &BTreeMap<String, Stored>,
    at: i64,
) -> Result<Vec<Stored>, Problem> {
    let mut moved: BTreeMap<String, Stored> = BTreeMap::new();
    for (collection, speaking) in SPEAKING {
        let is_own = |name: &str, refers: &[String]| {
            let of = names::parse(name).is_some_and(|parts| parts.collection == *collection);
            of && (name == segment || refers.iter().any(|named| named == segment))
        };
        let own = records.values().filter(|s| is_own(&s.name, &s.refers));
        let own: Vec<String> = own.map(|stored| stored.name.clone()).collect();
        let left = ledger.former_referrers(own.clone(), speaking, at).await;
        for stored in left.map_err(refusal)? {
            let now = records.get(&stored.name);
            // From one sample of the segment to another is no way off it.
            if !now.is_some_and(|now| now.refers.iter().any(|name| own.contains(name))) {
                moved.insert(stored.name.clone(), stored);
            }
        }
    }
    Ok(moved.into_values().collect())
}

/// What holds because a record was moved away and nobody decided on it.
pub(crate) fn open(file: &SegmentFile) -> Vec<Found> {
    let is_decided = |moved: &&Moved| {
        let mut deviations = file.nonconformances.iter();
        deviations.any(|deviation| {
            deviation.close_time.is_some()
                && deviation.subjects.contains(&file.name)
                && deviation.subjects.contains(&moved.record.name)
        })
    };
    let moved = file.moved_away.iter();
    let open = moved.filter(|moved| !is_decided(moved));
    open.map(|moved| {
        let name = moved.record.name.as_str();
        let called = format!(
            "{} {}",
            kind_in_words(&kind_word(name)),
            names::number_of(name)
        );
        let message = format!(
            "{called} was about this segment until revision {}, when {}, {}, moved it away \
             (\"{}\"): write a nonconformance about this segment and {called}, and have it decided \
             and closed",
            moved.record.revision, moved.principal, moved.role, moved.reason
        );
        found("record-moved-away", message)
            .of(moved.record.clone())
            .fact("record", name)
    })
    .collect()
}
