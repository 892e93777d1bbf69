//! # Holds
//! Any step on a lot that nobody may enter.
//! # Why
//! Entering without a right is trespass; a crew turned away loses its day.
//! # Released when
//! Every parcel that the pipe crosses, or over which the way leads, has a permit valid on every day
//! of work, one that covers the dwelling where gear is carried through it. A segment without any
//! parcel needs a signed paper that says so: an empty list is missing. Before the work the date of
//! evaluation stands in for its days. The lateral register signed last says how many lots are
//! entered, and as many are related: a relation that was lost would else take its permit with it.
//! # Evidence
//! Parcel relations, access permits, run, lateral register, document of the kind
//! `no-parcels-entered`.
//! # Parameters
//! `before_photos`: whether photographs from before must be on file; false when left out. `counted`:
//! whether the register must count the lots; true when left out.
//! # Source
//! Own rule.

use std::collections::BTreeSet;

use jiff::civil::Date;
use obvert_proto::{
    dates::unix_ms,
    project::v1::{AccessPermit, ParcelRelation, ParcelTie},
};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind, evidence_present::signed_paper, found,
    words::date,
};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "right-of-entry",
    proves: "every lot was entered by right on every day of work",
    parameters: &[
        ParameterKind::flag(
            "before_photos",
            "photographs from before must be on file; false",
        ),
        ParameterKind::flag("counted", "the signed register must count the lots; true"),
    ],
    limits: &[],
    evidence: &[
        "parcel-relation",
        "access-permit",
        "run",
        "lateral-register",
        "document",
    ],
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
    let entered: Vec<_> = file.relations.iter().filter(|r| is_entered(r)).collect();
    for relation in &file.relations {
        j.uses(relation);
    }
    for relation in &entered {
        enter(judging, &mut j, relation, &days);
    }
    if judging.flag("counted", true) {
        counted(judging, &mut j, &entered);
    }
    j.outcome()
}

fn is_entered(relation: &ParcelRelation) -> bool {
    let entered = [ParcelTie::Crossed, ParcelTie::AccessOnly];
    relation.passage_through_dwelling || relation.ties().any(|tie| entered.contains(&tie))
}

/// As many lots are related as were counted on site.
fn counted<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>, entered: &[&'a Kept<ParcelRelation>]) {
    let Some(register) = judging.file.register() else {
        let what = "the signed register that counts the lots entered";
        j.missing("lateral-register", what, "count on site, sign and file it");
        return;
    };
    j.uses(register);
    let lots: BTreeSet<&str> = entered.iter().map(|r| r.parcel.as_str()).collect();
    j.fact("entered_parcel_count", lots.len());
    match register.entered_parcel_count {
        None => {
            let message = "the signed register does not say how many lots are entered: count them on \
                           site and sign again, zero included";
            j.hold(found("lots-not-counted", message).of(register.record()));
        }
        Some(count) if i64::from(count) != lots.len() as i64 => {
            let message = format!(
                "the register is signed for {} entered, related to the segment: {}; relate each, or \
                 count again and sign",
                obvert_proto::counted(i64::from(count), "lot", "lots"),
                lots.len()
            );
            let code = match i64::from(count) > lots.len() as i64 {
                true => "missing-parcel-relation",
                false => "lots-beyond-count",
            };
            let related = entered.iter().map(|relation| relation.record());
            let found = found(code, message).of(register.record());
            j.hold(
                found
                    .of_all(related)
                    .fact("entered_parcel_count", count)
                    .fact("related_count", lots.len()),
            );
        }
        Some(_) => {}
    }
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
    let parcel = judging.file.number_of(&relation.parcel);
    let permits: Vec<_> = judging
        .file
        .permits
        .iter()
        .filter(|permit| permit.parcel == relation.parcel)
        .collect();
    if permits.is_empty() {
        let what = format!("the right to enter parcel {parcel}");
        j.missing_about(
            &relation.parcel,
            "access-permit",
            &what,
            "get it signed and file it",
        );
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
