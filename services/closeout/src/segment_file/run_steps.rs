//! When the steps of a run took place, with each device's clock set right.

use obvert_proto::{
    dates::unix_ms,
    installation::v1::{Run, RunStep, StepKind},
};

/// Start and end of a step's every occurrence by the reference clock, in milliseconds, in order.
pub fn steps(run: &Run, kind: StepKind) -> Vec<(i64, i64)> {
    let mut times: Vec<_> = run
        .steps
        .iter()
        .filter(|step| step.step() == kind)
        .filter_map(times_of)
        .collect();
    times.sort_unstable();
    times
}

/// First start of a step.
pub fn step_start_ms(run: &Run, kind: StepKind) -> Option<i64> {
    steps(run, kind).iter().map(|(start, _)| *start).min()
}

/// Last end of a step.
pub fn step_end_ms(run: &Run, kind: StepKind) -> Option<i64> {
    steps(run, kind).iter().map(|(_, end)| *end).max()
}

fn times_of(step: &RunStep) -> Option<(i64, i64)> {
    let ahead_ms = ahead_ms(step.clock_offset_s);
    let start = unix_ms(step.start_time.as_ref()?) - ahead_ms;
    let end = unix_ms(step.end_time.as_ref()?) - ahead_ms;
    Some((start, end))
}

/// Milliseconds by which a clock was ahead; the schema keeps offsets within a day.
pub(crate) fn ahead_ms(clock_offset_s: f64) -> i64 {
    (clock_offset_s * 1000.0).round() as i64
}
