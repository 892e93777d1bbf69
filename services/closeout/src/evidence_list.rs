//! The list of evidence: everything that owners ask to see of a lined segment, one row each, and
//! where each row stands.
//!
//! A row is present when every point that asks for it is past by its evidence, waived when one of
//! them is past by a variance, and not applicable when all of them say so. Otherwise it is missing
//! when something is not on file, held when what is on file holds a point, and else it awaits a
//! release. A row that no point asks for says that; it is never called present.

use obvert_proto::closeout::v1::{EvidenceRow, EvidenceState, PointState, PointStatus};

use crate::{
    PAST,
    plan::{ParameterValue, PlanText, Point},
};

/// Rows with their titles, in the order of the work.
pub const ROWS: &[(&str, &str)] = &[
    ("E01", "contract data sheet"),
    ("E02", "qualification and licence pack"),
    ("E03", "quality plan and procedure sheet with target values"),
    ("E04", "laboratory accreditation and method list"),
    ("E05", "approved material file"),
    ("E06", "calibration set"),
    ("E07", "inspection as found"),
    ("E08", "field survey"),
    ("E09", "lateral register with proof of live and dead"),
    ("E10", "sealed design calculation"),
    ("E11", "order and its confirmation"),
    ("E12", "manufacture certificate"),
    ("E13", "delivery note and receiving check"),
    ("E14", "storage log and age at installation"),
    ("E15", "right of entry"),
    ("E16", "resident notices"),
    ("E17", "flow control plan and log"),
    ("E18", "cleaning log"),
    ("E19", "ready-to-line inspection"),
    ("E20", "slip sheet or preliner sheet"),
    ("E21", "pull-in log"),
    ("E22", "packer and inflation sheet"),
    ("E23", "pre-cure video"),
    ("E24", "cure log"),
    ("E25", "cool-down, film and end-cut sheet"),
    ("E26", "samples and their custody"),
    ("E27", "laboratory report: flexure"),
    ("E28", "laboratory report: thickness"),
    ("E29", "laboratory report: tightness"),
    ("E30", "field leak test"),
    ("E31", "lateral reopening"),
    ("E32", "end seals"),
    ("E33", "inspection as lined"),
    ("E34", "air and odour monitoring, complaints"),
    ("E35", "nonconformances with disposition and re-test"),
    ("E36", "restoration photographs and property releases"),
    ("E37", "quantity sheet"),
    ("E38", "as-built table"),
    ("E39", "permits and daily reports"),
    ("E40", "warranty certificate"),
    ("E41", "warranty inspection"),
    ("E42", "lien waivers, consent of surety, final affidavit"),
];

/// Rows that an evaluator stands for where the plan does not say otherwise.
const OF_EVALUATOR: &[(&str, &[&str])] = &[
    ("lateral-register", &["E09"]),
    ("field-survey", &["E08"]),
    ("sealed-design", &["E10"]),
    ("ordered-wall", &["E11"]),
    ("ordered-length", &["E11"]),
    ("certified-wall", &["E12"]),
    ("received-liner", &["E13"]),
    ("shelf-life", &["E14"]),
    ("right-of-entry", &["E15"]),
    ("resident-notice", &["E16"]),
    ("ready-to-line", &["E18", "E19"]),
    ("pull-in", &["E21"]),
    ("cure-log", &["E24"]),
    ("sample-trace", &["E26"]),
    ("laboratory-report", &["E27"]),
    ("measured-wall", &["E28"]),
    ("leak-test", &["E30"]),
    ("laterals-reopened", &["E31"]),
    ("post-lining-cctv", &["E33"]),
    ("nonconformances-closed", &["E35"]),
    ("property-release", &["E36"]),
];

/// Rows that a step of the run stands for, where the plan asks for the step.
const OF_STEP: &[(&str, &str)] = &[
    ("flow-control", "E17"),
    ("slip-sheet", "E20"),
    ("preliner", "E20"),
    ("inflation", "E22"),
    ("end-cut", "E25"),
    ("end-seal", "E32"),
];

/// Rows that a survey stands for, by its purpose.
const OF_SURVEY: &[(&str, &str)] = &[("design", "E07"), ("pre-cure", "E23"), ("warranty", "E41")];

/// Title of a row.
pub fn title(row: &str) -> Option<&'static str> {
    ROWS.iter()
        .find(|(known, _)| *known == row)
        .map(|(_, title)| *title)
}

/// Rows that a point of a plan stands for.
pub fn rows_of(point: &Point) -> Vec<&str> {
    if !point.evidence.is_empty() {
        return point.evidence.iter().map(String::as_str).collect();
    }
    let mut rows: Vec<&str> = OF_EVALUATOR
        .iter()
        .filter(|(evaluator, _)| *evaluator == point.evaluator)
        .flat_map(|(_, rows)| rows.iter().copied())
        .collect();
    if let Some(ParameterValue::Words(steps)) = point.parameter("steps") {
        let asked = OF_STEP
            .iter()
            .filter(|(step, _)| steps.iter().any(|s| s == step));
        rows.extend(asked.map(|(_, row)| *row));
    }
    if let Some(ParameterValue::Text(purpose)) = point.parameter("purpose") {
        let asked = OF_SURVEY.iter().filter(|(known, _)| known == purpose);
        rows.extend(asked.map(|(_, row)| *row));
    }
    if point.parameter("tightness") == Some(&ParameterValue::Flag(true)) {
        rows.push("E29");
    }
    rows.sort_unstable();
    rows.dedup();
    rows
}

/// Where every row stands, from where the points stand.
pub(crate) fn rows(plan: &PlanText, points: &[PointStatus]) -> Vec<EvidenceRow> {
    let asks = |row: &str, status: &&PointStatus| {
        plan.point(&status.point)
            .is_some_and(|point| rows_of(point).contains(&row))
    };
    let stands = |(row, title): &(&str, &str)| {
        let asking: Vec<_> = points.iter().filter(|status| asks(row, status)).collect();
        EvidenceRow {
            row: (*row).to_owned(),
            title: (*title).to_owned(),
            points: asking.iter().map(|status| status.point.clone()).collect(),
            ..state_of(&asking)
        }
    };
    ROWS.iter().map(stands).collect()
}

fn state_of(asking: &[&PointStatus]) -> EvidenceRow {
    let row = |state: EvidenceState, waived_by: &str, reason: &str| EvidenceRow {
        state: state.into(),
        waived_by: waived_by.to_owned(),
        reason: reason.to_owned(),
        ..EvidenceRow::default()
    };
    let in_state = |state: PointState| asking.iter().find(move |status| status.state() == state);
    if asking.is_empty() {
        return row(
            EvidenceState::NotAsked,
            "",
            "no point of the plan asks for it",
        );
    }
    let open = || {
        asking
            .iter()
            .filter(|status| !PAST.contains(&status.state()))
    };
    let holding = || open().flat_map(|status| status.findings.iter().filter(|f| f.holds));
    // Of all that holds, what is not on file is told first: nothing else can be settled before.
    let absent = holding().find(|finding| finding.code.starts_with("missing-"));
    if let Some(absent) = absent {
        return row(EvidenceState::Missing, "", &absent.message);
    }
    if let Some(contrary) = holding().next() {
        return row(EvidenceState::Held, "", &contrary.message);
    }
    if open().next().is_some() {
        return row(EvidenceState::AwaitsRelease, "", "");
    }
    if let Some(waived) = in_state(PointState::Variance) {
        return row(EvidenceState::Waived, &waived.released_by, &waived.reason);
    }
    match (
        in_state(PointState::Released),
        in_state(PointState::NotApplicable),
    ) {
        (None, Some(beside)) => row(EvidenceState::NotApplicable, "", &beside.reason),
        _ => row(EvidenceState::Present, "", ""),
    }
}
