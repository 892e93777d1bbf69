//! Rows of the pages, as the templates read them.

use obvert_ledger::Stored;
use obvert_proto::{
    closeout::v1::{
        EvidenceRow, EvidenceState, Package, PointClass, PointState, PointStatus, SegmentStatus,
    },
    common::v1::{Finding, LocalDate, RecordRef},
    dates::instant,
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
    pub(super) released_count: usize,
    pub(super) point_count: usize,
    pub(super) held_by: String,
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
        size: format!("{} KB", (package.size_bytes + 999) / 1_000),
        sha256: package.sha256,
        project_revision: package.project_revision,
    }
}

/// Rows of the points: what is held, then what awaits a release, then the rest, each in the plan's
/// order.
pub(super) fn point_rows(status: &SegmentStatus) -> Vec<PointRow> {
    let mut points: Vec<_> = status.points.iter().collect();
    points.sort_by_key(|point| match point.state() {
        PointState::Held | PointState::Unspecified => 0,
        PointState::AwaitsRelease => 1,
        PointState::Released | PointState::Variance | PointState::NotApplicable => 2,
    });
    points.into_iter().map(point_row).collect()
}

fn point_row(point: &PointStatus) -> PointRow {
    let (state, shape) = state_words(point.state());
    let class = match point.point_class() {
        PointClass::Hold => "hold",
        PointClass::Witness => "witness",
        PointClass::Review => "review",
        PointClass::Unspecified => "",
    };
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
        class,
        state,
        shape,
        held: point.state() == PointState::Held,
        released: format!("{released}{until}"),
        reason: point.reason.clone(),
        due: due.map_or(String::new(), |day| format!("due {day}")),
        source_clause: point.source_clause.clone(),
        findings: point.findings.iter().map(finding_row).collect(),
        evidence: point
            .evidence
            .iter()
            .filter_map(|e| e.record.as_ref())
            .map(shown_ref)
            .collect(),
    }
}

/// Rows of the list of evidence, in the order of the work.
pub(super) fn listed_rows(status: &SegmentStatus) -> Vec<ListedRow> {
    status.evidence.iter().map(listed_row).collect()
}

fn listed_row(row: &EvidenceRow) -> ListedRow {
    let (state, shape) = match row.state() {
        EvidenceState::Present => ("present", "\u{25cf}"),
        EvidenceState::Missing | EvidenceState::Unspecified => ("missing", "\u{25a0}"),
        EvidenceState::Waived => ("waived", "\u{25c6}"),
        EvidenceState::NotApplicable => ("does not apply", "\u{25cb}"),
        EvidenceState::NotAsked => ("not asked", "\u{25cb}"),
    };
    let because = match row.waived_by.as_str() {
        "" => row.reason.clone(),
        by => format!("{by}: {}", row.reason),
    };
    ListedRow {
        row: row.row.clone(),
        title: row.title.clone(),
        state,
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

fn state_words(state: PointState) -> (&'static str, &'static str) {
    match state {
        PointState::Held | PointState::Unspecified => ("held", "\u{25a0}"),
        PointState::AwaitsRelease => ("awaits release", "\u{25b2}"),
        PointState::Released => ("released", "\u{25cf}"),
        PointState::Variance => ("variance", "\u{25c6}"),
        PointState::NotApplicable => ("does not apply", "\u{25cb}"),
    }
}

/// Points that only await a role's release.
pub(super) fn awaits_count(status: &SegmentStatus) -> usize {
    status
        .points
        .iter()
        .filter(|p| p.state() == PointState::AwaitsRelease)
        .count()
}
