//! # Holds
//! The outage of a home that was not told.
//! # Why
//! A home without service and without warning is a complaint, and a call to the fire department
//! over the smell stops the work.
//! # Released when
//! Every parcel that a lateral serves was handed a notice before its outage within the limits, and
//! the outage began within the time that a notice announced. Before the work the announced start
//! stands in for the outage.
//! # Evidence
//! Laterals, parcel relations, resident notices, run.
//! # Parameters
//! `wording`: revision of the approved wording that every notice must carry; any when left out.
//! # Source
//! The day before work at the latest, with a local phone number: City of Ramsey MN, sanitary sewer
//! lining project manual, items A6 to A14.

use std::collections::BTreeSet;

use obvert_proto::{
    installation::v1::StepKind,
    project::v1::{LateralState, Notice, ParcelTie},
};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind, found,
    words::{hours, ms},
};
use crate::{
    plan::Operator,
    segment_file::{Kept, step_start_ms},
};

const LEAST: (&str, Operator) = ("notice_before_outage_h", Operator::AtLeast);
const MOST: (&str, Operator) = ("notice_before_outage_h", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "resident-notice",
    proves: "every home was told of its outage in time",
    parameters: &[ParameterKind::text(
        "wording",
        &[],
        "revision of the approved wording; any",
    )],
    limits: &[LEAST, MOST],
    evidence: &["lateral", "parcel-relation", "resident-notice", "run"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    if let Some(segment) = judging.file.segment() {
        j.uses(segment);
    }
    let outages = outages_ms(judging, &mut j);
    for parcel in served(judging, &mut j) {
        told(judging, &mut j, &parcel, &outages);
    }
    j.outcome()
}

/// Starts of inflation, from which on homes are shut.
pub(super) fn outages_ms(judging: &Judging<'_>, j: &mut Judgement<'_>) -> Vec<i64> {
    let mut outages = Vec::new();
    for run in judging.file.lining_runs() {
        j.uses(run);
        outages.extend(step_start_ms(run, StepKind::Inflation));
    }
    outages
}

/// Parcels that a lateral serves. A lateral whose parcel is not related to the segment as served
/// holds.
fn served(judging: &Judging<'_>, j: &mut Judgement<'_>) -> BTreeSet<String> {
    let file = judging.file;
    let is_served = |r: &&Kept<obvert_proto::project::v1::ParcelRelation>| {
        r.ties().any(|tie| tie == ParcelTie::Served)
    };
    let relations: Vec<_> = file.relations.iter().filter(is_served).collect();
    let mut parcels: BTreeSet<String> = relations.iter().map(|r| r.parcel.clone()).collect();
    for relation in &relations {
        j.uses(*relation);
    }
    if file.register().is_none() {
        j.missing(
            "lateral-register",
            "the signed lateral register",
            "file it: it says which homes are shut",
        );
    }
    for lateral in file
        .laterals
        .iter()
        .filter(|l| l.state() != LateralState::Abandoned)
    {
        j.uses(lateral);
        if lateral.parcel.is_empty() {
            let message = format!(
                "nobody knows which parcel lateral {} serves: find out",
                lateral.number()
            );
            j.hold(
                found("lateral-without-parcel", message)
                    .of(lateral.record())
                    .fact("lateral", lateral.id()),
            );
        } else if !parcels.contains(&lateral.parcel) {
            let what = format!(
                "the relation of parcel {} as served",
                file.number_of(&lateral.parcel)
            );
            j.missing_about(
                &lateral.parcel,
                "parcel-relation",
                &what,
                "relate the parcel to the segment",
            );
            parcels.insert(lateral.parcel.clone());
        }
    }
    parcels
}

fn told(judging: &Judging<'_>, j: &mut Judgement<'_>, parcel: &str, outages: &[i64]) {
    let file = judging.file;
    let number = file.number_of(parcel);
    let notices: Vec<_> = file
        .notices
        .iter()
        .filter(|notice| notice.parcel == parcel)
        .collect();
    if notices.is_empty() {
        let what = format!("the notice to parcel {number}");
        j.missing_about(parcel, "resident-notice", &what, "hand it over and file it");
        return;
    }
    for notice in &notices {
        j.uses(notice);
        j.fact(
            format!("{}.delivered_ms", notice.id()),
            ms(notice.delivered_time.as_ref()).unwrap_or_default(),
        );
        if let Some(wording) = judging
            .text("wording")
            .filter(|w| *w != notice.wording_revision)
        {
            let message = format!(
                "the notice to parcel {number} carries wording {}, approved is {wording}: hand over \
                 the approved one",
                notice.wording_revision
            );
            j.hold(found("notice-wording-differs", message).of(notice.record()));
        }
    }
    if outages.is_empty() {
        let last = notices
            .iter()
            .max_by_key(|notice| ms(notice.delivered_time.as_ref()));
        if let Some((last, start)) = last.zip(last.and_then(|n| ms(n.outage_start_time.as_ref()))) {
            lead(j, last, start, &number);
        }
    }
    for outage in outages {
        let announces = |notice: &&&Kept<Notice>| {
            ms(notice.outage_start_time.as_ref()).is_some_and(|start| start <= *outage)
                && ms(notice.outage_end_time.as_ref()).is_some_and(|end| *outage <= end)
        };
        let announcing = notices.iter().filter(announces);
        match announcing.max_by_key(|notice| ms(notice.delivered_time.as_ref())) {
            Some(notice) => lead(j, notice, *outage, &number),
            None => {
                let message = format!(
                    "the outage of parcel {number} began at {}, no notice announces that time: tell \
                     the home and file the notice",
                    file.local_time(*outage)
                );
                j.hold(
                    found("outage-not-announced", message)
                        .of_all(notices.iter().map(|n| n.record())),
                );
            }
        }
    }
}

fn lead(j: &mut Judgement<'_>, notice: &Kept<Notice>, outage_ms: i64, parcel: &str) {
    let Some(delivered) = ms(notice.delivered_time.as_ref()) else {
        return;
    };
    let lead = hours(delivered, outage_ms);
    let what = format!("time from the notice to parcel {parcel} to its outage");
    let key = format!("{}.notice_before_outage_h", notice.id());
    for (code, limit) in [("notice-too-late", LEAST), ("notice-too-early", MOST)] {
        let words = (what.as_str(), "tell the home again and file the notice");
        j.within((code, &key), lead, limit, words, &[notice.record()]);
    }
}
