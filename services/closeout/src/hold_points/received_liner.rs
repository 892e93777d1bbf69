//! # Holds
//! The liner, until it was looked at on arrival and found to be the one ordered for this segment.
//! # Why
//! Two liners of one diameter for two yards are swapped easily; found on the day of pull-in it
//! costs the day.
//! # Released when
//! Every liner in force has a receiving check: the crate's label shows the liner's serial, the
//! liner was ordered for this segment, diameter, wall and length are as ordered, the light-tight
//! packing is whole, and a photograph of the label is on file.
//! # Evidence
//! Liner, liner order, receiving check.
//! # Parameters
//! `label_photo`: whether a photograph of the label must be on file; true when left out.
//! # Source
//! Own rule; that light-curing liners see no daylight: German federal guideline for sewers on
//! federal sites, annex, p. 329.

use obvert_proto::material::v1::{Liner, ReceivingCheck};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind,
    certified_wall::{Given, compare, liners},
    found,
};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "received-liner",
    proves: "the liner that arrived is the one ordered for this segment, and whole",
    parameters: &[ParameterKind::flag(
        "label_photo",
        "a photograph of the label must be on file; true",
    )],
    limits: &[],
    evidence: &["liner", "liner-order", "receiving-check"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    for liner in liners(judging, &mut j) {
        if !file.is_ordered(&liner.order) {
            let message = format!(
                "liner {} was not ordered for {}: it may have been swapped with that of another \
                 segment",
                liner.serial,
                file.segment_number()
            );
            j.hold(found("liner-of-other-segment", message).of(liner.record()));
        }
        let checks: Vec<_> = file
            .receiving_checks
            .iter()
            .filter(|check| check.liner == liner.name)
            .collect();
        if checks.is_empty() {
            let what = format!("the receiving check of liner {}", liner.number());
            j.missing_about(
                &liner.name,
                "receiving-check",
                &what,
                "check the liner on arrival and file it",
            );
        }
        let order = j.named(&file.orders, &liner.order, "order");
        for check in checks {
            j.uses(check);
            label(judging, &mut j, liner, check);
            if let Some(order) = order {
                let what = format!("liner {} as received", liner.serial);
                let given = Given {
                    what: &what,
                    code: "received",
                    diameter_mm: check.nominal_diameter_mm,
                    wall: check.wall.as_ref(),
                    length_m: check.length_m,
                    record: check.record(),
                };
                compare(&mut j, order, &given);
            }
        }
    }
    j.outcome()
}

fn label(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    liner: &Kept<Liner>,
    check: &Kept<ReceivingCheck>,
) {
    let id = check.id();
    j.fact(format!("{id}.label_serial"), &check.label_serial);
    j.fact(format!("{id}.packing_intact"), check.packing_intact);
    if check.label_serial != liner.serial {
        let message = format!(
            "the crate's label reads {}, the liner of this segment is {}: find the right crate",
            check.label_serial, liner.serial
        );
        let found = found("label-serial-differs", message)
            .of(check.record())
            .of(liner.record());
        j.hold(
            found
                .fact("label_serial", &check.label_serial)
                .fact("serial", &liner.serial),
        );
    }
    if !check.packing_intact {
        let message = format!(
            "the light-tight packing of liner {} was not whole on arrival: ask the maker before \
             it is used",
            liner.serial
        );
        j.hold(found("packing-damaged", message).of(check.record()));
    }
    if judging.flag("label_photo", true) && check.label_photos.is_empty() {
        let message = format!(
            "no photograph of the label of liner {} is on file: add it",
            liner.serial
        );
        j.hold(found("label-photo-missing", message).of(check.record()));
    }
}
