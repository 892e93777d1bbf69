//! # Holds
//! Acceptance, until the cure log of every run is filed and within the maker's tolerance.
//! # Why
//! The log is the only witness of the cure; the log of another run is a witness of nothing here.
//! # Released when
//! Every run has a cure log whose header names the run's manholes, whose lamps burned between the
//! end of pull-in and the first reopening, whose length is that of the run, and which is within the
//! entered tolerance. `No tolerance given` and `data unfit` hold; `outside` holds with its
//! stretches.
//! # Evidence
//! Run, cure log, segments of the run.
//! # Parameters
//! `allow_no_tolerance`: whether a log without a tolerance may be released all the same, with a
//! note; false when left out, and only sensible on a hold point of the engineer.
//! # Source
//! The maker's sheet; the comparison with the run is an own rule.

use obvert_engineering::cure_log::{LengthTolerance, RunLength};
use obvert_proto::installation::v1::{CureRecord, CureVerdict, Run};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, cure_window, figure, found};
use crate::{plan::Operator, segment_file::Kept};

const LENGTH: (&str, Operator) = ("cure_log_length_m", Operator::AtMost);
const SHARE: (&str, Operator) = ("cure_log_length_percent", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "cure-log",
    proves: "the cure log is that of the run and within the maker's tolerance",
    parameters: &[ParameterKind::flag(
        "allow_no_tolerance",
        "a log without a tolerance may be released with a note; false",
    )],
    limits: &[LENGTH, SHARE],
    evidence: &["run", "cure-log", "segment"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    for run in j.runs() {
        for log in j.cure_logs(run) {
            j.fact(format!("{}.file_sha256", log.id()), &log.file_sha256);
            j.fact(
                format!("{}.rows", log.id()),
                format!("{} {}", log.first_row, log.last_row),
            );
            verdict(judging, &mut j, log);
            cure_window::judge(judging, &mut j, run, log);
            length(judging, &mut j, run, log);
            for finding in log.findings.iter().filter(|finding| finding.holds) {
                let message = format!("{}: {}", called(judging, log), finding.message);
                j.hold(found(finding.code.clone(), message).of(log.record()));
            }
        }
    }
    j.outcome()
}

fn verdict(judging: &Judging<'_>, j: &mut Judgement<'_>, log: &Kept<CureRecord>) {
    let log_called = called(judging, log);
    j.fact(format!("{}.verdict", log.id()), log.verdict().as_str_name());
    match log.verdict() {
        CureVerdict::WithinTolerance => {}
        CureVerdict::OutsideTolerance => outside(j, &log_called, log),
        CureVerdict::NoToleranceGiven => {
            let message = format!(
                "{log_called}: no tolerance given for this diameter, wall and lamp train: enter \
                 the maker's band, or have the engineer judge the plots"
            );
            let found = found("no-tolerance-given", message).of(log.record());
            if judging.flag("allow_no_tolerance", false) {
                j.note(found)
            } else {
                j.hold(found)
            }
        }
        CureVerdict::DataUnfit | CureVerdict::Unspecified => {
            let faults = log
                .figures
                .as_ref()
                .map_or(String::new(), |f| f.data_faults.join("; "));
            let message = format!(
                "{log_called}: data unfit for a verdict ({faults}): file a better export, or \
                 have the engineer decide on samples"
            );
            j.hold(found("data-unfit", message).of(log.record()));
        }
    }
}

/// A log in words: it is known by the run that it was written on.
pub(super) fn called(judging: &Judging<'_>, log: &CureRecord) -> String {
    format!("cure log of run {}", judging.file.number_of(&log.run))
}

fn outside(j: &mut Judgement<'_>, called: &str, log: &Kept<CureRecord>) {
    let stretches: Vec<_> = log
        .deviations
        .iter()
        .map(|d| {
            format!(
                "{} from {} to {} m: {} {}, limit {}",
                d.kind,
                figure(d.station_from_m),
                figure(d.station_to_m),
                figure(d.value),
                d.unit,
                figure(d.limit)
            )
        })
        .collect();
    let message = format!(
        "{called}: outside the entered tolerance ({}): have the engineer decide, and show it as a \
         variance",
        stretches.join("; ")
    );
    j.hold(
        found("outside-tolerance", message)
            .of(log.record())
            .fact("stretches", stretches.join("; ")),
    );
}

fn length<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
    run: &Kept<Run>,
    log: &Kept<CureRecord>,
) {
    let mut run_length = RunLength {
        intermediate_manholes_m: vec![run.intermediate_manholes_m],
        ends_m: [run.ends_beyond_walls_m, 0.0],
        ..RunLength::default()
    };
    for name in &run.segments {
        let Some(segment) = j.named(&judging.file.segments, name, "segment") else {
            return;
        };
        run_length
            .wall_to_wall_m
            .push(segment.length_wall_to_wall_m);
    }
    let logged = log
        .figures
        .as_ref()
        .map_or(f64::NAN, |figures| figures.logged_length_m);
    let (tolerance_m, limit) = j.larger_of(LENGTH.0, SHARE.0, run_length.total_m());
    let tolerance = LengthTolerance {
        absolute_m: tolerance_m,
        percent: 0.0,
    };
    let closure = run_length.closure(logged, tolerance);
    j.fact(format!("{}.logged_length_m", log.id()), logged);
    j.fact(format!("{}.run_length_m", log.id()), closure.run_m);
    if closure.outside {
        let message = format!(
            "the {} covers {} m, the run is {} m long, the plan allows a difference of {} m \
             ({limit}): check that the log is that of the run",
            called(judging, log),
            figure(logged),
            figure(closure.run_m),
            figure(tolerance_m)
        );
        let found = found("cure-log-length-differs", message)
            .of(log.record())
            .of(run.record());
        j.hold(
            found
                .fact("logged_length_m", logged)
                .fact("run_length_m", closure.run_m),
        );
    }
}
