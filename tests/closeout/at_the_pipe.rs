//! Points at the pipe: pull-in, steps, cure log, leak test.

use obvert_proto::{
    acceptance::v1::{LeakMethod, LeakTest},
    installation::v1::{
        CureFigures, CureHeader, CureRecord, CureVerdict, Run, RunOutcome, StepKind,
    },
};

use super::{
    fixture::{Fixture, at},
    held, past,
};

fn run(f: &mut Fixture, change: impl FnOnce(&mut Run)) {
    f.edit("runs/r-1", change);
}

/// Moves a step of the run.
fn step(f: &mut Fixture, kind: StepKind, from: &str, to: &str) {
    run(f, |run| {
        let step = run
            .steps
            .iter_mut()
            .find(|step| step.step() == kind)
            .unwrap();
        step.start_time = at(&format!("2026-05-04 {from}"));
        step.end_time = at(&format!("2026-05-04 {to}"));
    });
}

#[test]
fn a_pull_above_the_makers_figures_or_without_them_holds() {
    held(
        |f| run(f, |r| r.pull_force_max_kn = Some(18.5)),
        "pull-in",
        "pull-force-above",
        "runs/r-1",
    );
    held(
        |f| run(f, |r| r.elongation_percent = Some(2.1)),
        "pull-in",
        "elongation-above",
        "ms-1",
    );
    held(
        |f| run(f, |r| r.elongation_percent = None),
        "pull-in",
        "missing-elongation",
        "",
    );
    held(
        |f| run(f, |r| r.pull_force_allowed_kn = None),
        "pull-in",
        "missing-pull-force",
        "",
    );
}

#[test]
fn steps_out_of_order_missing_or_unfinished_hold() {
    let late_test = |f: &mut Fixture| step(f, StepKind::LeakTest, "12:20", "12:35");
    held(late_test, "step-order", "steps-out-of-order", "runs/r-1");
    let early_cure = |f: &mut Fixture| step(f, StepKind::Cure, "09:20", "10:30");
    held(early_cure, "step-order", "steps-out-of-order", "runs/r-1");
    let seal = |f: &mut Fixture| step(f, StepKind::EndSeal, "10:00", "10:10");
    held(seal, "step-order", "end-seal-out-of-order", "runs/r-1");
    past(
        |f| step(f, StepKind::EndSeal, "07:45", "07:55"),
        "step-order",
    );
    let no_look =
        |f: &mut Fixture| run(f, |r| r.steps.retain(|s| s.step() != StepKind::PreCureCctv));
    held(no_look, "step-order", "missing-pre-cure-cctv-step", "");
    for (outcome, code) in [
        (RunOutcome::PulledIn, "run-not-finished"),
        (RunOutcome::Partial, "run-partial"),
        (RunOutcome::AbortedAfterLights, "run-aborted-after-lights"),
    ] {
        held(
            |f| run(f, |r| r.outcome = outcome.into()),
            "step-order",
            code,
            "runs/r-1",
        );
    }
    let aborted = |f: &mut Fixture| run(f, |r| r.outcome = RunOutcome::AbortedBeforeLights.into());
    held(aborted, "step-order", "missing-run", "");
}

#[test]
fn a_step_counts_by_the_reference_clock() {
    let ahead = |f: &mut Fixture| {
        step(f, StepKind::Cure, "10:30", "11:30");
        run(f, |run| {
            let cure = run
                .steps
                .iter_mut()
                .find(|step| step.step() == StepKind::Cure)
                .unwrap();
            cure.clock_offset_s = 3600.0;
        });
    };
    past(ahead, "step-order");
}

fn log(f: &mut Fixture, change: impl FnOnce(&mut CureRecord)) {
    f.edit("cureRecords/u-1", change);
}

fn header(log: &mut CureRecord) -> &mut CureHeader {
    log.header.as_mut().unwrap()
}

fn figures(log: &mut CureRecord) -> &mut CureFigures {
    log.figures.as_mut().unwrap()
}

#[test]
fn the_cure_log_of_another_run_holds() {
    let reversed = |f: &mut Fixture| log(f, |l| header(l).manholes.reverse());
    held(reversed, "cure-log", "cure-log-of-other-manholes", "u-1");
    let early = |f: &mut Fixture| log(f, |l| figures(l).first_lamp_time = at("2026-05-04 08:20"));
    held(early, "cure-log", "cure-log-outside-window", "u-1");
    let late = |f: &mut Fixture| log(f, |l| figures(l).last_lamp_time = at("2026-05-04 12:05"));
    held(late, "cure-log", "cure-log-outside-window", "r-1");
    let short = |f: &mut Fixture| log(f, |l| figures(l).logged_length_m = 50.7);
    held(short, "cure-log", "cure-log-length-differs", "u-1");
    let serial = |f: &mut Fixture| log(f, |l| header(l).liner_serial = "FM-0042".into());
    held(serial, "liner-identity", "serial-differs", "u-1");
    held(
        |f| f.remove("cureRecords/u-1"),
        "cure-log",
        "missing-cure-log",
        "",
    );
}

#[test]
fn only_a_log_within_the_entered_tolerance_releases() {
    let verdict = |f: &mut Fixture, verdict: CureVerdict| log(f, |l| l.verdict = verdict.into());
    held(
        |f| verdict(f, CureVerdict::OutsideTolerance),
        "cure-log",
        "outside-tolerance",
        "u-1",
    );
    held(
        |f| verdict(f, CureVerdict::NoToleranceGiven),
        "cure-log",
        "no-tolerance-given",
        "u-1",
    );
    held(
        |f| verdict(f, CureVerdict::DataUnfit),
        "cure-log",
        "data-unfit",
        "u-1",
    );
    held(
        |f| verdict(f, CureVerdict::Unspecified),
        "cure-log",
        "data-unfit",
        "u-1",
    );
}

fn test(f: &mut Fixture, change: impl FnOnce(&mut LeakTest)) {
    f.edit("leakTests/t-1", change);
}

#[test]
fn a_leak_test_that_is_late_short_or_leaky_holds() {
    let late = |f: &mut Fixture| test(f, |t| t.end_time = at("2026-05-04 12:05"));
    held(late, "leak-test", "leak-test-after-reopening", "t-1");
    let early = |f: &mut Fixture| test(f, |t| t.start_time = at("2026-05-04 10:20"));
    held(early, "leak-test", "leak-test-before-cure", "t-1");
    held(
        |f| test(f, |t| t.timed_s = 440.0),
        "leak-test",
        "leak-test-failed",
        "t-1",
    );
    held(
        |f| test(f, |t| t.end_pressure_kpa = Some(16.0)),
        "leak-test",
        "air-test-drop-above",
        "t-1",
    );
    held(
        |f| test(f, |t| t.end_pressure_kpa = None),
        "leak-test",
        "missing-test-pressure",
        "",
    );
    held(
        |f| test(f, |t| t.required_time_s = None),
        "leak-test",
        "missing-test-result",
        "",
    );
    held(
        |f| test(f, |t| t.length_m = 40.0),
        "leak-test",
        "leak-test-length-differs",
        "s-1",
    );
    held(
        |f| test(f, |t| t.diameter_mm = 191.0),
        "leak-test",
        "leak-test-diameter-differs",
        "t-1",
    );
    held(
        |f| f.remove("leakTests/t-1"),
        "leak-test",
        "missing-leak-test",
        "",
    );
}

#[test]
fn water_lost_is_held_against_what_may_be_lost() {
    let water = |f: &mut Fixture, lost: Option<f64>| {
        test(f, |t| {
            t.method = LeakMethod::Exfiltration.into();
            t.water_lost_litre = lost;
            t.allowed_loss_litre = Some(1.9);
        });
    };
    past(|f| water(f, Some(1.9)), "leak-test");
    held(
        |f| water(f, Some(2.0)),
        "leak-test",
        "leak-test-failed",
        "t-1",
    );
    held(|f| water(f, None), "leak-test", "missing-test-result", "");
}
