//! # Holds
//! Acceptance, when steps that cannot be undone were taken in the wrong order or not at all.
//! # Why
//! A leak test after the laterals are cut needs every lateral plugged; a seal behind a cut end
//! leaks.
//! # Released when
//! Every run is finished, has the steps the plan asks for, and its steps, each device's clock set
//! right, follow the site's order: slip sheet and preliner, pull-in, inflation, CCTV before the
//! cure, cure, cool-down, ends cut, leak test, laterals, brushing. End seals are placed before
//! pull-in or after the ends are cut.
//! # Evidence
//! Run.
//! # Parameters
//! `steps`: steps that every run must have.
//! # Source
//! Leak test before the laterals are opened: City of South Bend IN, Design & Construction
//! Standards, section 4. The rest: common practice, no source.

use obvert_proto::{
    installation::v1::{Run, RunOutcome, StepKind},
    kind_in_words,
};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, found};
use crate::segment_file::{Kept, step_end_ms, step_start_ms, steps};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "step-order",
    proves: "the work at the pipe was done, whole and in order",
    parameters: &[ParameterKind::words(
        "steps",
        STEP_WORDS,
        "steps that every run must have; none",
    )],
    limits: &[],
    evidence: &["run"],
    judge,
};

/// Words of the steps in site order, beside their kinds.
pub(super) const STEPS: &[(&str, StepKind)] = &[
    ("cleaning", StepKind::Cleaning),
    ("flow-control", StepKind::FlowControl),
    ("slip-sheet", StepKind::SlipSheet),
    ("preliner", StepKind::Preliner),
    ("pull-in", StepKind::PullIn),
    ("inflation", StepKind::Inflation),
    ("pre-cure-cctv", StepKind::PreCureCctv),
    ("cure", StepKind::Cure),
    ("cool-down", StepKind::CoolDown),
    ("film-removal", StepKind::FilmRemoval),
    ("end-cut", StepKind::EndCut),
    ("leak-test", StepKind::LeakTest),
    ("reopening", StepKind::Reopening),
    ("brushing", StepKind::Brushing),
    ("end-seal", StepKind::EndSeal),
];

pub(super) const STEP_WORDS: &[&str] = &[
    "cleaning",
    "flow-control",
    "slip-sheet",
    "preliner",
    "pull-in",
    "inflation",
    "pre-cure-cctv",
    "cure",
    "cool-down",
    "film-removal",
    "end-cut",
    "leak-test",
    "reopening",
    "brushing",
    "end-seal",
];

/// Pairs of which the first must be over before the second begins.
const OVER_BEFORE: &[(StepKind, StepKind)] = &[
    (StepKind::Cleaning, StepKind::PullIn),
    (StepKind::SlipSheet, StepKind::PullIn),
    (StepKind::Preliner, StepKind::PullIn),
    (StepKind::PullIn, StepKind::Inflation),
    (StepKind::PreCureCctv, StepKind::Cure),
    (StepKind::Cure, StepKind::CoolDown),
    (StepKind::CoolDown, StepKind::FilmRemoval),
    (StepKind::CoolDown, StepKind::EndCut),
    (StepKind::EndCut, StepKind::LeakTest),
    (StepKind::LeakTest, StepKind::Reopening),
    (StepKind::Reopening, StepKind::Brushing),
];

/// Pairs of which the first must begin no later than the second.
const BEGINS_BEFORE: &[(StepKind, StepKind)] = &[
    (StepKind::FlowControl, StepKind::PullIn),
    (StepKind::Inflation, StepKind::PreCureCctv),
    (StepKind::Inflation, StepKind::Cure),
    (StepKind::Cure, StepKind::EndCut),
    (StepKind::Cure, StepKind::LeakTest),
    (StepKind::Cure, StepKind::Reopening),
];

/// Word of a step.
pub(super) fn step_word(kind: StepKind) -> &'static str {
    STEPS
        .iter()
        .find(|(_, known)| *known == kind)
        .map_or("unknown step", |(word, _)| word)
}

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    for run in j.runs() {
        finished(&mut j, run);
        for (word, kind) in STEPS {
            let wanted = judging.words("steps").iter().any(|step| step == word);
            let times = steps(run, *kind);
            if wanted && times.is_empty() {
                let what = format!("the step {} of run {}", kind_in_words(word), run.number());
                j.missing_about(
                    &run.name,
                    &format!("{word}-step"),
                    &what,
                    "revise the run with its times",
                );
            }
            for (number, (start, end)) in times.iter().enumerate() {
                j.fact(
                    format!("{}.{word}.{number}", run.id()),
                    format!("{start} {end}"),
                );
            }
        }
        in_order(judging, &mut j, run);
    }
    j.outcome()
}

fn finished(j: &mut Judgement<'_>, run: &Kept<Run>) {
    let outcome = run.outcome();
    j.fact(format!("{}.outcome", run.id()), outcome.as_str_name());
    let (code, words) = match outcome {
        RunOutcome::Complete | RunOutcome::AbortedBeforeLights => return,
        RunOutcome::PulledIn | RunOutcome::Unspecified => ("run-not-finished", "is not finished"),
        RunOutcome::Partial => ("run-partial", "lined only a part"),
        RunOutcome::AbortedAfterLights => {
            ("run-aborted-after-lights", "was given up with lamps lit")
        }
    };
    let message = format!(
        "run {} {words}: finish it, or raise a nonconformance and have its disposition shown as a \
         variance",
        run.number()
    );
    j.hold(found(code, message).of(run.record()));
}

fn in_order(judging: &Judging<'_>, j: &mut Judgement<'_>, run: &Kept<Run>) {
    for (first, second) in OVER_BEFORE {
        let times = step_end_ms(run, *first).zip(step_start_ms(run, *second));
        if let Some((end, start)) = times.filter(|(end, start)| end > start) {
            wrong(judging, j, run, (*first, "ended", end), (*second, start));
        }
    }
    for (first, second) in BEGINS_BEFORE {
        let times = step_start_ms(run, *first).zip(step_start_ms(run, *second));
        if let Some((begin, start)) = times.filter(|(begin, start)| begin > start) {
            wrong(judging, j, run, (*first, "began", begin), (*second, start));
        }
    }
    let cut = step_end_ms(run, StepKind::EndCut);
    let pull_in = step_start_ms(run, StepKind::PullIn);
    for (start, end) in steps(run, StepKind::EndSeal) {
        let before = pull_in.is_some_and(|pull_in| end <= pull_in);
        let after = cut.is_some_and(|cut| start >= cut);
        if !before && !after {
            let message = format!(
                "an end seal of run {} was placed at {}, neither before pull-in nor after the \
                 ends were cut: look at it",
                run.number(),
                judging.file.local_time(start)
            );
            j.hold(found("end-seal-out-of-order", message).of(run.record()));
        }
    }
}

fn wrong(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    run: &Kept<Run>,
    (first, verb, first_ms): (StepKind, &str, i64),
    (second, second_ms): (StepKind, i64),
) {
    let (first, second) = (step_word(first), step_word(second));
    let message = format!(
        "{} of run {} {verb} at {}, after {} began at {}: correct the times, or raise a \
         nonconformance",
        kind_in_words(first),
        run.number(),
        judging.file.local_time(first_ms),
        kind_in_words(second),
        judging.file.local_time(second_ms)
    );
    let found = found("steps-out-of-order", message).of(run.record());
    j.hold(found.fact("first", first).fact("second", second));
}
