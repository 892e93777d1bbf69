//! # Holds
//! Whatever the owner wants a paper for.
//! # Why
//! Most papers need no arithmetic: they must be there, signed, valid and of good enough grade.
//! # Released when
//! Every record asked about is a subject of a document of the kind, signed unless the plan says
//! otherwise, valid on the day asked for, and with its original attached where the plan asks for
//! it.
//! # Evidence
//! Documents.
//! # Parameters
//! `evidence_kind`: kind of the document. `subject`: what it must be about, the segment when left
//! out; about `project` means one paper for all segments. `signed`: true when left out. `valid_on`:
//! day on which it must be valid: `pull-in` or `evaluation`; not asked when left out. `attached`:
//! whether an original must be attached; false when left out.
//! # Source
//! The plan's source clause.

use std::collections::BTreeSet;

use jiff::civil::Date;
use obvert_proto::{
    installation::v1::StepKind,
    project::v1::{Document, ParcelTie},
};
use obvert_records::names::id_of;

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, found, words::date};
use crate::segment_file::{Kept, step_start_ms};

const SUBJECTS: &[&str] = &[
    "segment",
    "project",
    "runs",
    "liners",
    "orders",
    "crossed-parcels",
    "served-parcels",
    "batches",
];

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "evidence-present",
    proves: "the paper is on file, signed, valid and of good enough grade",
    parameters: &[
        ParameterKind::text("evidence_kind", &[], "kind of the document").needed(),
        ParameterKind::text("subject", SUBJECTS, "what it must be about; segment"),
        ParameterKind::flag("signed", "it must be signed; true"),
        ParameterKind::text(
            "valid_on",
            &["pull-in", "evaluation"],
            "day of validity; not asked",
        ),
        ParameterKind::flag("attached", "an original must be attached; false"),
    ],
    limits: &[],
    evidence: &["document"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let kind = judging.text("evidence_kind").unwrap_or_default();
    let subjects = subjects(judging, &mut j);
    for subject in &subjects {
        let papers = papers(judging, kind, subject);
        if papers.is_empty() {
            let about = about(judging, subject);
            let what = format!("a document of the kind {kind} about {about}");
            j.missing_about(
                subject,
                "document",
                &what,
                "file it with its signer, dates and grade",
            );
            continue;
        }
        let days = days(judging, &mut j);
        let good = papers
            .iter()
            .find(|paper| faults(judging, paper, &days).is_empty());
        match good {
            Some(paper) => takes(&mut j, subject, paper),
            None => {
                let paper = papers[papers.len() - 1];
                takes(&mut j, subject, paper);
                for fault in faults(judging, paper, &days) {
                    let message = format!("{} {fault}", paper.called());
                    j.hold(
                        found("document-not-sufficient", message)
                            .of(paper.record())
                            .fact("fault", fault),
                    );
                }
            }
        }
    }
    j.outcome()
}

/// A subject in words, such as "the project" or "parcel 14-203".
fn about(judging: &Judging<'_>, subject: &str) -> String {
    let kind = match judging.text("subject").unwrap_or("segment") {
        "project" => return "the project".to_owned(),
        "runs" => "run",
        "liners" => "liner",
        "orders" => "order",
        "batches" => "batch",
        kind if kind.ends_with("parcels") => "parcel",
        _ => "segment",
    };
    format!("{kind} {}", judging.file.number_of(subject))
}

/// Documents of a kind about a record, in order of their names.
pub(super) fn papers<'a>(
    judging: &Judging<'a>,
    kind: &str,
    subject: &str,
) -> Vec<&'a Kept<Document>> {
    let about = |paper: &&Kept<Document>| {
        paper.evidence_kind == kind && paper.subjects.iter().any(|about| about == subject)
    };
    judging.file.documents.iter().filter(about).collect()
}

/// Whether a signed document of a kind about a record is on file; it is used as evidence.
pub(super) fn signed_paper(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    kind: &str,
    subject: &str,
) -> bool {
    let papers = papers(judging, kind, subject);
    let signed = papers
        .into_iter()
        .find(|paper| !paper.signed_by.trim().is_empty());
    if let Some(paper) = signed {
        j.uses(paper);
        j.fact(format!("{}.signed_by", paper.id()), &paper.signed_by);
    }
    signed.is_some()
}

fn takes(j: &mut Judgement<'_>, subject: &str, paper: &Kept<Document>) {
    j.uses(paper);
    let id = id_of(subject);
    let day = |day: Option<Date>| day.map_or(String::new(), |day| day.to_string());
    j.fact(format!("{id}.title"), &paper.title);
    j.fact(format!("{id}.issuer"), &paper.issuer);
    j.fact(format!("{id}.signed_by"), &paper.signed_by);
    j.fact(
        format!("{id}.signed_date"),
        day(date(paper.signed_date.as_ref())),
    );
    j.fact(
        format!("{id}.valid_until_date"),
        day(date(paper.valid_until_date.as_ref())),
    );
}

fn faults(judging: &Judging<'_>, paper: &Kept<Document>, days: &[Date]) -> Vec<String> {
    let mut faults = Vec::new();
    let unsigned = paper.signed_by.trim().is_empty() || paper.signed_date.is_none();
    if unsigned && judging.flag("signed", true) {
        faults.push("is not signed and dated: have it signed".to_owned());
    }
    if judging.flag("attached", false) && paper.attachments.is_empty() {
        faults.push("has no original attached: attach it".to_owned());
    }
    let from = date(paper.valid_from_date.as_ref()).unwrap_or(Date::MIN);
    let until = date(paper.valid_until_date.as_ref()).unwrap_or(Date::MAX);
    let outside = days.iter().filter(|day| **day < from || **day > until);
    faults.extend(outside.map(|day| format!("is not valid on {day}: file one that is")));
    faults
}

fn days(judging: &Judging<'_>, j: &mut Judgement<'_>) -> Vec<Date> {
    let file = judging.file;
    match judging.text("valid_on") {
        Some("pull-in") => {
            let runs = file.lining_runs();
            for run in &runs {
                j.uses(*run);
            }
            let times = runs
                .iter()
                .filter_map(|run| step_start_ms(run, StepKind::PullIn));
            let days: BTreeSet<Date> = times.map(|ms| file.local_date(ms)).collect();
            if days.is_empty() {
                vec![file.local_date(file.commit_time_ms)]
            } else {
                Vec::from_iter(days)
            }
        }
        Some("evaluation") => vec![file.local_date(file.commit_time_ms)],
        _ => Vec::new(),
    }
}

/// Records that each need a paper. An empty list holds.
fn subjects(judging: &Judging<'_>, j: &mut Judgement<'_>) -> Vec<String> {
    let file = judging.file;
    let parcels = |ties: &[ParcelTie]| -> BTreeSet<String> {
        let tied = file
            .relations
            .iter()
            .filter(|r| r.ties().any(|tie| ties.contains(&tie)));
        tied.map(|relation| relation.parcel.clone()).collect()
    };
    let subject = judging.text("subject").unwrap_or("segment");
    let names: BTreeSet<String> = match subject {
        "project" => BTreeSet::from([file.project.name.clone()]),
        "runs" => file
            .lining_runs()
            .iter()
            .map(|run| run.name.clone())
            .collect(),
        "liners" => file.liner_names_in_force().into_iter().collect(),
        "orders" => file.order_names_in_force().into_iter().collect(),
        "crossed-parcels" => parcels(&[ParcelTie::Crossed, ParcelTie::AccessOnly]),
        "served-parcels" => parcels(&[ParcelTie::Served]),
        "batches" => {
            let liners = file.liner_names_in_force();
            let own = file
                .certificates
                .iter()
                .filter(|c| liners.contains(&c.liner));
            own.flat_map(|certificate| certificate.batches.iter().cloned())
                .collect()
        }
        _ => BTreeSet::from([file.name.clone()]),
    };
    if names.is_empty() && subject.ends_with("parcels") {
        none_of_these(judging, j);
    } else if names.is_empty() {
        j.missing(
            subject,
            &format!("any of the {subject} the paper is about"),
            "file their records",
        );
    }
    names.into_iter().collect()
}

/// No parcel of the kind: the relations themselves, or a signed paper, must say so.
fn none_of_these(judging: &Judging<'_>, j: &mut Judgement<'_>) {
    let file = judging.file;
    for relation in &file.relations {
        j.uses(relation);
    }
    if file.relations.is_empty() && !signed_paper(judging, j, "no-parcels-entered", &file.name) {
        let remedy = "relate the parcels to the segment, or file a signed paper of the kind \
            no-parcels-entered";
        j.missing("parcel-relation", "any parcel of this segment", remedy);
    }
}
