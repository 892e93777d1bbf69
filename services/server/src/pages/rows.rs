//! Rows of the pages, as the templates read them.

use obvert_closeout::plan::PlanText;
use obvert_ledger::Stored;
use obvert_proto::{
    closeout::v1::{EvidenceRow, EvidenceState, Package, PointState, PointStatus, SegmentStatus},
    common::v1::{Finding, LocalDate, RecordRef},
    counted, counts,
    dates::instant,
    kind_in_words,
};
use obvert_records::names;
use serde::Serialize;

/// One project of a list.
#[derive(Serialize)]
pub(super) struct ProjectRow {
    pub(super) id: String,
    pub(super) title: String,
    pub(super) owner: String,
    pub(super) contractor: String,
}

/// One segment with what holds it.
#[derive(Serialize)]
pub(super) struct SegmentRow {
    pub(super) id: String,
    pub(super) owner_segment_id: String,
    pub(super) manholes: String,
    pub(super) diameter: String,
    pub(super) length: String,
    pub(super) state: &'static str,
    pub(super) shape: &'static str,
    pub(super) past_count: usize,
    pub(super) point_count: usize,
    /// Title of the point that says most about why it is not accepted; empty when it is.
    pub(super) held_by: String,
    /// Why that point holds.
    pub(super) because: String,
    /// Points beside it that are open.
    pub(super) more_count: usize,
    pub(super) packages: Vec<PackageRow>,
}

/// One issued package.
#[derive(Serialize)]
pub(super) struct PackageRow {
    pub(super) id: String,
    pub(super) file_name: String,
    pub(super) size: String,
    pub(super) sha256: String,
    pub(super) project_revision: i64,
}

/// One point with its findings.
#[derive(Serialize)]
pub(super) struct PointRow {
    pub(super) id: String,
    pub(super) title: String,
    pub(super) stage: String,
    pub(super) class: &'static str,
    pub(super) state: &'static str,
    pub(super) shape: &'static str,
    pub(super) held: bool,
    /// Roles whose release it awaits; empty when it awaits none.
    pub(super) awaited: String,
    pub(super) released: String,
    pub(super) reason: String,
    pub(super) due: String,
    pub(super) source_clause: String,
    pub(super) findings: Vec<FindingRow>,
    pub(super) evidence: Vec<String>,
}

/// One row of the list of evidence.
#[derive(Serialize)]
pub(super) struct ListedRow {
    pub(super) row: String,
    pub(super) title: String,
    pub(super) state: &'static str,
    pub(super) shape: &'static str,
    pub(super) because: String,
    pub(super) points: String,
}

/// One finding with the records behind it.
#[derive(Serialize)]
pub(super) struct FindingRow {
    pub(super) message: String,
    pub(super) holds: bool,
    pub(super) records: String,
}

/// Row of an issued package.
pub(super) fn package_row(stored: &Stored, package: Package) -> PackageRow {
    PackageRow {
        id: names::id_of(&stored.name).to_owned(),
        file_name: package.file_name,
        size: size(package.size_bytes),
        sha256: package.sha256,
        project_revision: package.project_revision,
    }
}

/// Size of a file, rounded up so that no file has none.
fn size(bytes: i64) -> String {
    if bytes < 1_000_000 {
        format!("{} KB", (bytes + 999) / 1_000)
    } else {
        format!("{:.1} MB", bytes as f64 / 1e6)
    }
}

/// Rows of the points, by urgency; in the plan's order where that is the same.
pub(super) fn point_rows(status: &SegmentStatus, plan: &PlanText) -> Vec<PointRow> {
    let mut points: Vec<_> = status.points.iter().collect();
    points.sort_by_key(|point| point.state().urgency());
    points
        .into_iter()
        .map(|point| point_row(point, plan))
        .collect()
}

fn point_row(point: &PointStatus, plan: &PlanText) -> PointRow {
    let time = point.release_time.as_ref().and_then(instant);
    let released = match time {
        Some(time) => format!(
            "{} at {}",
            point.released_by,
            time.strftime("%Y-%m-%d %H:%M UTC")
        ),
        None => String::new(),
    };
    let until = point
        .valid_until_date
        .as_ref()
        .and_then(LocalDate::to_civil);
    let until = until.map_or(String::new(), |day| format!(", until {day}"));
    let due = point.due_date.as_ref().and_then(LocalDate::to_civil);
    PointRow {
        id: point.point.clone(),
        title: point.title.clone(),
        stage: point.stage.clone(),
        class: point.point_class().word(),
        state: point.state().word(),
        shape: shape(point.state()),
        held: point.state() == PointState::Held,
        awaited: awaited(point, plan),
        released: format!("{released}{until}"),
        reason: point.reason.clone(),
        due: due.map_or(String::new(), |day| format!("due {day}")),
        source_clause: point.source_clause.clone(),
        findings: point.findings.iter().map(finding_row).collect(),
        evidence: point
            .evidence
            .iter()
            .filter_map(|used| {
                Some(format!(
                    "{}: {}",
                    kind_in_words(&used.evidence_kind),
                    shown_ref(used.record.as_ref()?)
                ))
            })
            .collect(),
    }
}

/// Who may give the release that a point awaits, as its plan says.
fn awaited(point: &PointStatus, plan: &PlanText) -> String {
    if point.state() != PointState::AwaitsRelease {
        return String::new();
    }
    let roles = plan
        .point(&point.point)
        .map(|point| point.released_by.join(" or "));
    roles.map_or(String::new(), |roles| format!("by {roles}"))
}

/// How many points are in which state, in words.
pub(super) fn standing(status: &SegmentStatus) -> String {
    use PointState::{AwaitsRelease, Held, NotApplicable, Released, Unspecified, Variance};
    let states = [
        (&[Held, Unspecified][..], "held"),
        (&[AwaitsRelease], "awaiting release"),
        (&[Released], "released"),
        (&[Variance], "passed with a variance"),
        (&[NotApplicable], "not applicable"),
    ];
    let told = counts(states.map(|(states, words)| {
        let points = status.points.iter();
        let among = points.filter(|point| states.contains(&point.state()));
        (among.count(), words)
    }));
    format!(
        "Of {}: {told}.",
        counted(status.points.len(), "point", "points")
    )
}

/// Rows of the list of evidence, in the order of the work.
pub(super) fn listed_rows(status: &SegmentStatus) -> Vec<ListedRow> {
    status.evidence.iter().map(listed_row).collect()
}

fn listed_row(row: &EvidenceRow) -> ListedRow {
    let shape = match row.state() {
        EvidenceState::Present => "\u{25cf}",
        EvidenceState::Missing | EvidenceState::Held | EvidenceState::Unspecified => "\u{25a0}",
        EvidenceState::AwaitsRelease => "\u{25b2}",
        EvidenceState::Waived => "\u{25c6}",
        EvidenceState::NotApplicable | EvidenceState::NotAsked => "\u{25cb}",
    };
    let because = match row.waived_by.as_str() {
        "" => row.reason.clone(),
        by => format!("{by}: {}", row.reason),
    };
    ListedRow {
        row: row.row.clone(),
        title: row.title.clone(),
        state: row.state().word(),
        shape,
        because,
        points: row.points.join(", "),
    }
}

fn finding_row(finding: &Finding) -> FindingRow {
    let records: Vec<_> = finding.records.iter().map(shown_ref).collect();
    let records = records.join(", ");
    FindingRow {
        message: finding.message.clone(),
        holds: finding.holds,
        records,
    }
}

fn shown_ref(record: &RecordRef) -> String {
    let short = record.name.splitn(3, '/').nth(2).unwrap_or(&record.name);
    format!("{short}@{}", record.revision)
}

/// Shape beside the word of a state, so that neither colour nor word carries it alone.
fn shape(state: PointState) -> &'static str {
    match state {
        PointState::Held | PointState::Unspecified => "\u{25a0}",
        PointState::AwaitsRelease => "\u{25b2}",
        PointState::Released => "\u{25cf}",
        PointState::Variance => "\u{25c6}",
        PointState::NotApplicable => "\u{25cb}",
    }
}
