//! # Holds
//! Acceptance, when the liner in the pipe is not the same one all along.
//! # Why
//! A cure log or a sample of another liner proves nothing about this one.
//! # Released when
//! For every run: its liner was ordered for this segment, and the serial reads the same on the
//! liner, on the crate at receipt, at pull-in, in the header of the cure log, on every sample and
//! in every laboratory report that prints one.
//! # Evidence
//! Run, liner, receiving check, cure log, sample, laboratory report.
//! # Parameters
//! `samples`: whether every run must have a sample; true when left out. A plan that samples segments
//! sets it false; samples that there are count all the same.
//! # Source
//! Own rule.

use obvert_proto::{common::v1::RecordRef, installation::v1::Run, material::v1::Liner};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, found};
use crate::segment_file::{Kept, by_name};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "liner-identity",
    proves: "one serial runs from receipt through pull-in and cure log to sample and report",
    parameters: &[ParameterKind::flag(
        "samples",
        "every run must have a sample; true",
    )],
    limits: &[],
    evidence: &[
        "run",
        "liner",
        "receiving-check",
        "cure-log",
        "sample",
        "laboratory-report",
    ],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    for run in j.runs() {
        let Some(liner) = j.named(&judging.file.liners, &run.liner, "liner") else {
            continue;
        };
        j.named(&judging.file.orders, &liner.order, "order");
        if !judging.file.is_ordered(&liner.order) {
            let message = format!(
                "run {} put liner {} into {}, which was ordered for another segment",
                run.number(),
                liner.serial,
                judging.file.segment_number()
            );
            j.hold(
                found("liner-of-other-segment", message)
                    .of(run.record())
                    .of(liner.record()),
            );
        }
        same(
            &mut j,
            liner,
            ("at pull-in", &run.serial_at_pull_in),
            run.record(),
        );
        at_receipt(judging, &mut j, liner);
        in_cure_log(&mut j, run, liner);
        on_samples(judging, &mut j, run, liner);
    }
    j.outcome()
}

fn same(
    j: &mut Judgement<'_>,
    liner: &Kept<Liner>,
    (place, serial): (&str, &str),
    record: RecordRef,
) {
    j.fact(format!("{} {place}", record.name), serial);
    if serial != liner.serial {
        let read = if serial.is_empty() { "nothing" } else { serial };
        let message = format!(
            "the serial {place} reads {read}, the liner is {}: find out which liner it was",
            liner.serial
        );
        let found = found("serial-differs", message)
            .of(record)
            .of(liner.record());
        j.hold(
            found
                .fact("place", place)
                .fact("serial", serial)
                .fact("liner_serial", &liner.serial),
        );
    }
}

fn at_receipt(judging: &Judging<'_>, j: &mut Judgement<'_>, liner: &Kept<Liner>) {
    let checks: Vec<_> = judging
        .file
        .receiving_checks
        .iter()
        .filter(|check| check.liner == liner.name)
        .collect();
    if checks.is_empty() {
        let what = format!("the receiving check of liner {}", liner.number());
        j.missing_about(&liner.name, "receiving-check", &what, "file it");
    }
    for check in checks {
        j.uses(check);
        same(
            j,
            liner,
            ("at receipt", &check.label_serial),
            check.record(),
        );
    }
}

fn in_cure_log(j: &mut Judgement<'_>, run: &Kept<Run>, liner: &Kept<Liner>) {
    for log in j.cure_logs(run) {
        let serial = log
            .header
            .as_ref()
            .map_or("", |header| header.liner_serial.as_str());
        same(j, liner, ("in the cure log's header", serial), log.record());
    }
}

fn on_samples(judging: &Judging<'_>, j: &mut Judgement<'_>, run: &Kept<Run>, liner: &Kept<Liner>) {
    let samples: Vec<_> = judging
        .file
        .samples
        .iter()
        .filter(|s| s.run == run.name)
        .collect();
    if samples.is_empty() && judging.flag("samples", true) {
        j.missing_about(
            &run.name,
            "sample",
            &format!("a sample of run {}", run.number()),
            "cut and file it",
        );
    }
    for sample in samples {
        j.uses(sample);
        same(
            j,
            liner,
            ("on the sample", &sample.liner_serial),
            sample.record(),
        );
    }
    for report in &judging.file.reports {
        let of_run =
            by_name(&judging.file.samples, &report.sample).is_some_and(|s| s.run == run.name);
        if of_run && !report.liner_serial_in_report.is_empty() {
            j.uses(report);
            same(
                j,
                liner,
                ("in the laboratory report", &report.liner_serial_in_report),
                report.record(),
            );
        }
    }
}
