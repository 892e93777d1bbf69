//! # Holds
//! Any step on a lot that nobody may enter.
//! # Why
//! Entering without a right is trespass; a crew turned away loses its day.
//! # Released when
//! Every parcel that the pipe crosses, or over which the way leads, has a permit valid on every day
//! of work, one that covers the dwelling where gear is carried through it. A segment without any
//! parcel needs a signed paper that says so: an empty list is missing. Before the work the date of
//! evaluation stands in for its days.
//! # Evidence
//! Parcel relations, access permits, run, document of the kind `no-parcels-entered`.
//! # Parameters
//! `before_photos`: whether photographs from before must be on file; false when left out.
//! # Source
//! Own rule.

use std::collections::BTreeSet;

use jiff::civil::Date;
use obvert_proto::{
    dates::unix_ms,
    project::v1::{AccessPermit, ParcelRelation, ParcelTie},
};
use obvert_records::names::id_of;

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind, evidence_present::signed_paper, found,
    words::date,
};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "right-of-entry",
    proves: "every lot was entered by right on every day of work",
    parameters: &[ParameterKind::flag(
        "before_photos",
        "photographs from before must be on file; false",
    )],
    limits: &[],
    evidence: &["parcel-relation", "access-permit", "run", "document"],
    judge,
};

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
    let days = work_days(judging);
    let entered = [ParcelTie::Crossed, ParcelTie::AccessOnly];
    for relation in &file.relations {
        j.uses(relation);
        let dwelling = relation.passage_through_dwelling;
        if dwelling || relation.ties().any(|tie| entered.contains(&tie)) {
            enter(judging, &mut j, relation, &days);
        }
    }
    j.outcome()
}

/// Days on which a step of a run took place, or the day of evaluation before there is one.
fn work_days(judging: &Judging<'_>) -> BTreeSet<Date> {
    let file = judging.file;
    let steps = file
        .lining_runs()
        .into_iter()
        .flat_map(|run| &run.message.steps);
    let times = steps
        .flat_map(|step| [&step.start_time, &step.end_time])
        .flatten();
    let mut days: BTreeSet<_> = times.map(|time| file.local_date(unix_ms(time))).collect();
    if days.is_empty() {
        days.insert(file.local_date(file.commit_time_ms));
    }
    days
}

fn enter(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    relation: &Kept<ParcelRelation>,
    days: &BTreeSet<Date>,
) {
    let parcel = id_of(&relation.parcel);
    let permits: Vec<_> = judging
        .file
        .permits
        .iter()
        .filter(|permit| permit.parcel == relation.parcel)
        .collect();
    if permits.is_empty() {
        let what = format!("the right to enter parcel {parcel}");
        j.missing("access-permit", &what, "get it signed and file it");
        return;
    }
    for permit in &permits {
        j.uses(permit);
        j.fact(format!("{}.instrument", permit.id()), &permit.instrument);
        j.fact(
            format!("{}.covers_dwelling", permit.id()),
            permit.covers_dwelling,
        );
    }
    let dwelling = relation.passage_through_dwelling;
    let opens = |permit: &&&Kept<AccessPermit>| permit.covers_dwelling || !dwelling;
    if !permits.iter().any(|permit| opens(&permit)) {
        let message = format!(
            "gear is carried through the dwelling on parcel {parcel}, no permit covers that: have \
             it signed"
        );
        j.hold(
            found("dwelling-not-covered", message)
                .of(relation.record())
                .of(permits[0].record()),
        );
    }
    for day in days {
        let valid = |permit: &&&Kept<AccessPermit>| {
            date(permit.valid_from_date.as_ref()).is_some_and(|from| from <= *day)
                && date(permit.valid_until_date.as_ref()).is_some_and(|until| *day <= until)
        };
        if !permits.iter().filter(opens).any(|permit| valid(&permit)) {
            let message = format!(
                "no permit to enter parcel {parcel} is valid on {day}: have one signed that is"
            );
            let records = permits.iter().map(|permit| permit.record());
            j.hold(
                found("permit-not-valid", message)
                    .of_all(records)
                    .fact("date", day),
            );
        }
    }
    if judging.flag("before_photos", false) && permits.iter().all(|p| p.before_photos.is_empty()) {
        let message = format!(
            "no photograph of parcel {parcel} from before is on file: add it to the permit"
        );
        j.hold(found("before-photos-missing", message).of(permits[0].record()));
    }
}
