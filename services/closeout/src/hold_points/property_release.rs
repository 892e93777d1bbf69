//! # Holds
//! Acceptance, until every lot is given back.
//! # Why
//! One yard without its release holds back the final payment of a contract.
//! # Released when
//! For every parcel that was crossed, used for access or, where the plan asks, served: photographs
//! from after the work are on file, and a signed release of the property is dated no earlier than
//! the last pull-in. A release that its owner refused, or never answered, is filed as such and
//! holds; with the photographs on file the owner of the sewer may then give a variance, which is
//! shown as one.
//! # Evidence
//! Parcel relation, run, documents of the kinds `property-release`, `property-release-refused`,
//! `property-release-unanswered` and `restoration-photos` about the parcel.
//! # Parameters
//! `served`: whether parcels that are only served count too; false when left out.
//! # Source
//! Own rule; the plan's source clause.

use jiff::civil::Date;
use obvert_proto::{
    installation::v1::StepKind,
    project::v1::{Document, ParcelRelation, ParcelTie},
};
use obvert_records::names::id_of;

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind,
    evidence_present::{papers, signed_paper},
    found,
    words::date,
};
use crate::segment_file::{Kept, step_end_ms};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "property-release",
    proves: "every lot was photographed after the work and released by its owner",
    parameters: &[ParameterKind::flag(
        "served",
        "parcels that are only served count too; false",
    )],
    limits: &[],
    evidence: &["parcel-relation", "run", "document"],
    judge,
};

/// Papers that close a lot without its owner's signature, and what they say.
const CLOSED_OTHERWISE: &[(&str, &str)] = &[
    ("property-release-refused", "was refused"),
    ("property-release-unanswered", "was never answered"),
];

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    if file.relations.is_empty() && !signed_paper(judging, &mut j, "no-parcels-entered", &file.name)
    {
        let remedy = "relate the parcels to the segment, or file a signed paper of the kind \
            no-parcels-entered";
        j.missing("parcel-relation", "any parcel of this segment", remedy);
        return j.outcome();
    }
    let runs = j.runs();
    let ends = runs
        .iter()
        .filter_map(|run| step_end_ms(run, StepKind::PullIn));
    let lined = ends.map(|ms| file.local_date(ms)).max();
    let mut counted = vec![ParcelTie::Crossed, ParcelTie::AccessOnly];
    if judging.flag("served", false) {
        counted.push(ParcelTie::Served);
    }
    for relation in &file.relations {
        j.uses(relation);
        if relation.ties().any(|tie| counted.contains(&tie)) {
            given_back(judging, &mut j, relation, lined);
        }
    }
    j.outcome()
}

fn given_back(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    relation: &Kept<ParcelRelation>,
    lined: Option<Date>,
) {
    let (id, parcel) = (
        id_of(&relation.parcel),
        judging.file.number_of(&relation.parcel),
    );
    let photos = papers(judging, "restoration-photos", &relation.parcel);
    let shown = photos
        .into_iter()
        .find(|paper| !paper.attachments.is_empty());
    match shown {
        Some(photos) => j.uses(photos),
        None => {
            let what = format!("photographs of parcel {parcel} after the work");
            j.missing_about(
                &relation.parcel,
                "restoration-photos",
                &what,
                "take them and attach them to a document",
            );
        }
    }
    let releases = papers(judging, "property-release", &relation.parcel);
    let good = releases.iter().find(|paper| signed_after(paper, lined));
    if let Some(release) = good {
        j.uses(*release);
        j.fact(format!("{id}.released_by"), &release.signed_by);
        return;
    }
    for (kind, says) in CLOSED_OTHERWISE {
        if let Some(paper) = papers(judging, kind, &relation.parcel).first() {
            j.uses(*paper);
            let message = format!(
                "the release of parcel {parcel} {says}: the owner decides on the photographs and \
                 gives a variance"
            );
            let found = found(*kind, message)
                .of(relation.record())
                .of(paper.record());
            j.hold(found.fact("parcel", id));
            return;
        }
    }
    if let Some(release) = releases.first() {
        j.uses(*release);
        let message = format!(
            "the release of parcel {parcel} is unsigned, undated, or signed before the liner was \
             pulled in: have it signed after the work"
        );
        let found = found("property-release-not-sufficient", message);
        j.hold(found.of(relation.record()).of(release.record()));
        return;
    }
    let what = format!("the release of parcel {parcel}");
    j.missing_about(
        &relation.parcel,
        "property-release",
        &what,
        "have it signed, or file that it was refused or unanswered",
    );
}

fn signed_after(paper: &Document, lined: Option<Date>) -> bool {
    let signed = date(paper.signed_date.as_ref());
    !paper.signed_by.trim().is_empty()
        && signed.is_some_and(|signed| lined.is_none_or(|lined| signed >= lined))
}
