//! Corrections, and the index of evidence: present, missing, waived, not applicable.

use std::collections::{BTreeMap, BTreeSet};

use obvert_proto::{
    closeout::v1::{EvidenceUsed, PointState},
    common::v1::PaperGrade,
    kind_in_words,
};
use obvert_typeset::segment_sheet::{Correction, Evidence, Mark, Register};
use sha2::{Digest, Sha256};

use super::{View, evidence_list, field_values::said, register};
use crate::package::{
    corrections::{Change, FieldChange},
    hex,
    originals::{self, Kept, Original},
    record_files::path_of_state,
    words::{self, counted, counts, state},
};

/// Corrected fields that the document lists; the file in the package lists all.
const CORRECTIONS: usize = 150;

pub(super) fn corrections(view: &View<'_>) -> Register<Correction> {
    let total: usize = view.changes.iter().map(|change| change.fields.len()).sum();
    let rows = view.changes.iter().flat_map(|change| {
        change
            .fields
            .iter()
            .map(move |field| correction(view, change, field))
    });
    let rows: Vec<_> = rows.take(CORRECTIONS).collect();
    let states = counted(view.changes.len(), "later state", "later states");
    let mut words = format!(
        "{} changed in {states} of the records; a value that was added later counts as well.",
        counted(total, "value was", "values were")
    );
    if rows.len() < total {
        words.push_str(&format!(
            " The first {} are listed here, all in data/corrections.json.",
            rows.len()
        ));
    }
    register(words, rows)
}

fn correction(view: &View<'_>, change: &Change, field: &FieldChange) -> Correction {
    let old = said(view, field, &field.old, "not given");
    Correction {
        record: words::record(&change.name, change.revision),
        field: field.words.label.clone(),
        old_value: format!("{old} (@{})", change.old_revision),
        new_value: said(view, field, &field.new, "taken out"),
        reason: words::or(&change.reason, "no reason given"),
        corrected_by: format!(
            "{}, {}, {}",
            change.principal,
            change.role,
            view.file.local_time(change.commit_time_ms)
        ),
    }
}

pub(super) fn evidence(view: &View<'_>) -> Register<Evidence> {
    let mut rows = present(view);
    let present = rows.len();
    let missing = missing(view, PointState::Held);
    let waived = missing_waived(view);
    let beside = not_applicable(view);
    let kept = view.originals.iter().filter(|o| o.kept.is_some()).count();
    let present = present - kept;
    let mut words = format!(
        "{} behind the points and originals on file: {}.",
        counted(
            present + kept + missing.len() + waived.len() + beside.len(),
            "piece of evidence",
            "pieces of evidence"
        ),
        counts([
            (present, "present"),
            (kept, "kept by the server"),
            (missing.len(), "missing"),
            (waived.len(), "waived"),
            (beside.len(), "not applicable"),
        ])
    );
    if let Some(kept) = originals::kept_in_words(view.originals, view.terms) {
        words.push(' ');
        words.push_str(&kept);
    }
    rows.extend(missing);
    rows.extend(waived);
    rows.extend(beside);
    evidence_list::before(view, words, rows)
}

/// Records that points rest on, each once with its own file, then originals.
fn present(view: &View<'_>) -> Vec<Evidence> {
    let mut used: BTreeMap<&str, &EvidenceUsed> = BTreeMap::new();
    for evidence in view.status.points.iter().flat_map(|point| &point.evidence) {
        if let Some(record) = &evidence.record {
            used.insert(&record.name, evidence);
        }
    }
    let signers = signers(view);
    let mut rows: Vec<_> = used
        .iter()
        .map(|(name, evidence)| {
            let revision = evidence.record.as_ref().map_or(0, |record| record.revision);
            let path = path_of_state(name, revision);
            let graded = evidence.grade() != PaperGrade::Unspecified;
            Evidence {
                title: title(&evidence.evidence_kind),
                state: state("present", Mark::Met),
                record: Some(words::record(name, revision)),
                sha256: view.files.get(&path).map(|data| hex(&Sha256::digest(data))),
                file: Some(path),
                signer: signers.get(*name).cloned(),
                grade: graded.then(|| words::grade(evidence.grade()).to_owned()),
                ..Evidence::default()
            }
        })
        .collect();
    rows.extend(view.originals.iter().map(|original| {
        let log = original.record.contains("/cureRecords/");
        Evidence {
            title: if log {
                "Cure log, native file"
            } else {
                "Original, as filed"
            }
            .to_owned(),
            state: match original.kept {
                None => state("present", Mark::Met),
                Some(_) => state("kept by the server", Mark::Open),
            },
            state_reason: original.kept.map(|kept| why_kept(kept, original)),
            record: Some(
                original
                    .record
                    .splitn(3, '/')
                    .nth(2)
                    .unwrap_or(&original.record)
                    .to_owned(),
            ),
            file: original.path.clone(),
            sha256: Some(original.sha256.clone()),
            ..Evidence::default()
        }
    }));
    rows
}

fn why_kept(kept: Kept, original: &Original) -> String {
    let (name, bytes) = (&original.file_name, original.size_bytes);
    match kept {
        Kept::TooLarge => format!("Not in this package: {name} has {bytes} bytes."),
        Kept::Residents => {
            format!("Not in this package: {name}, {bytes} bytes, is about residents.")
        }
    }
}

/// Who signed each record that names a signer.
fn signers<'a>(view: &View<'a>) -> BTreeMap<&'a str, String> {
    let file = view.file;
    let mut signers = BTreeMap::new();
    for document in &file.documents {
        let date = words::date(document.signed_date.as_ref(), "no date");
        let by = words::or(&document.signed_by, &document.issuer);
        signers.insert(document.name.as_str(), format!("{by}, {date}"));
    }
    for design in &file.designs {
        let date = words::date(design.sealed_date.as_ref(), "not sealed");
        signers.insert(
            &design.name,
            format!("{}, {date}", words::or(&design.sealed_by, "nobody")),
        );
    }
    for report in &file.reports {
        let date = words::date(report.reported_date.as_ref(), "no date");
        signers.insert(&report.name, format!("{}, {date}", report.laboratory));
    }
    for signed in &file.registers {
        let date = view.time(signed.signed_time.as_ref(), "no date");
        signers.insert(&signed.name, format!("{}, {date}", signed.signed_by));
    }
    signers
}

/// Missing evidence of points in a state: each finding that says so.
fn missing(view: &View<'_>, wanted: PointState) -> Vec<Evidence> {
    let mut seen = BTreeSet::new();
    let points = view
        .status
        .points
        .iter()
        .filter(|point| point.state() == wanted);
    let findings = points.flat_map(|point| &point.findings);
    findings
        .filter(|finding| finding.holds && finding.code.starts_with("missing-"))
        .filter(|finding| seen.insert(finding.message.clone()))
        .map(|finding| Evidence {
            title: title(finding.code.trim_start_matches("missing-")),
            state: state("missing", Mark::Open),
            state_reason: Some(finding.message.clone()),
            ..Evidence::default()
        })
        .collect()
}

fn missing_waived(view: &View<'_>) -> Vec<Evidence> {
    let varied = view
        .status
        .points
        .iter()
        .filter(|point| point.state() == PointState::Variance);
    let row = |point: &obvert_proto::closeout::v1::PointStatus| Evidence {
        title: point.title.clone(),
        state: state("waived", Mark::Varied),
        state_reason: Some(format!("{}: {}", point.released_by, point.reason)),
        record: Some(words::record(
            &point.release,
            view.file
                .releases
                .iter()
                .find(|r| r.name == point.release)
                .map_or(0, |r| r.revision),
        )),
        ..Evidence::default()
    };
    varied.map(row).collect()
}

fn not_applicable(view: &View<'_>) -> Vec<Evidence> {
    let points = view
        .status
        .points
        .iter()
        .filter(|point| point.state() == PointState::NotApplicable);
    let row = |title: &str, reason: &str| Evidence {
        title: title.to_owned(),
        state: state("not applicable", Mark::NotApplicable),
        state_reason: Some(reason.to_owned()),
        ..Evidence::default()
    };
    let mut rows: Vec<_> = points
        .map(|point| row(&point.title, &point.reason))
        .collect();
    rows.push(row(
        "Map layer of the laterals",
        "No record of this project holds coordinates, and none are made up; stations are in the \
         table of laterals.",
    ));
    rows
}

/// A kebab-case word as a title.
fn title(kind: &str) -> String {
    let words = kind_in_words(kind);
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        format!("{}{}", first.to_uppercase(), letters.as_str())
    })
}
