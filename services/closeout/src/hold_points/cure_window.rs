//! Whether a cure log was written by its run: manholes in its header, and the time its lamps
//! burned.

use obvert_proto::{
    dates::unix_ms,
    installation::v1::{CureRecord, Run, StepKind},
};

use super::{Judgement, Judging, cure_log::called, found};
use crate::segment_file::{Kept, ahead_ms, by_name, step_end_ms};

/// Holds a log that names other manholes, or burned outside the run's window.
pub(super) fn judge(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    run: &Kept<Run>,
    log: &Kept<CureRecord>,
) {
    manholes(judging, j, run, log);
    window(judging, j, run, log);
}

fn manholes(judging: &Judging<'_>, j: &mut Judgement<'_>, run: &Kept<Run>, log: &Kept<CureRecord>) {
    let named = log
        .header
        .as_ref()
        .map_or(&[][..], |header| &header.manholes);
    j.fact(format!("{}.manholes", log.id()), named.join(" "));
    if named != run.manholes {
        let message = format!(
            "the {} names the manholes {}, the run passed {}: file the log of this run",
            called(judging, log),
            if named.is_empty() {
                "none".to_owned()
            } else {
                named.join(", ")
            },
            run.manholes.join(", ")
        );
        let found = found("cure-log-of-other-manholes", message)
            .of(log.record())
            .of(run.record());
        j.hold(found.fact("manholes_in_log", named.join(" ")));
    }
}

fn window(judging: &Judging<'_>, j: &mut Judgement<'_>, run: &Kept<Run>, log: &Kept<CureRecord>) {
    let ahead = log
        .header
        .as_ref()
        .map_or(0, |header| ahead_ms(header.clock_offset_s));
    let lamps = log.figures.as_ref().and_then(|figures| {
        let first = unix_ms(figures.first_lamp_time.as_ref()?) - ahead;
        Some((first, unix_ms(figures.last_lamp_time.as_ref()?) - ahead))
    });
    let Some((first, last)) = lamps else {
        let message = format!(
            "the {} shows no lamp lit: file the log of the cure",
            called(judging, log)
        );
        j.hold(found("cure-log-without-lamps", message).of(log.record()));
        return;
    };
    j.fact(format!("{}.lamps_ms", log.id()), format!("{first} {last}"));
    let Some(pulled_in) = step_end_ms(run, StepKind::PullIn) else {
        let what = format!("the pull-in among the steps of run {}", run.number());
        j.missing_about(
            &run.name,
            "pull-in-step",
            &what,
            "revise the run with its times",
        );
        return;
    };
    let file = judging.file;
    let reopened = file.reopened_ms(run);
    let before = first < pulled_in;
    let after = reopened.is_some_and(|reopened| last > reopened);
    if before || after {
        let message = format!(
            "the lamps in the {} burned from {} to {}, the run was pulled in at {} and first \
             reopened at {}: file the log of this run or set its clock right",
            called(judging, log),
            file.local_time(first),
            file.local_time(last),
            file.local_time(pulled_in),
            reopened.map_or("no time on file".to_owned(), |ms| file.local_time(ms))
        );
        let found = found("cure-log-outside-window", message)
            .of(log.record())
            .of(run.record());
        j.hold(
            found
                .fact("first_lamp_ms", first)
                .fact("last_lamp_ms", last),
        );
    }
    for outcome in file
        .outcomes
        .iter()
        .filter(|outcome| outcome.run == run.name)
    {
        if by_name(&file.laterals, &outcome.lateral).is_some() {
            j.uses(outcome);
        }
    }
}
