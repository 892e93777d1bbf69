//! # Holds
//! Acceptance, until the lined segment was tested tight before its laterals were opened.
//! # Why
//! Tested after the opening, every lateral must be plugged; timed by a misprinted table, the test
//! proves nothing.
//! # Released when
//! Every run has a leak test of this segment between the end of the cure and the first reopening,
//! over the length of the segment, and the last such test holds: by air, timed at least as long as
//! worked out for no more than the plan's fall of pressure; by water, no more lost than worked out.
//! # Evidence
//! Run, leak test, segment, lateral outcomes.
//! # Parameters
//! `methods`: methods the owner takes; both when left out.
//! # Source
//! Times and losses are worked out when the test is filed; their sources stand with the formulas.
//! Test before the laterals are opened: City of South Bend IN, Design & Construction Standards,
//! section 4.

use obvert_proto::{
    acceptance::v1::{LeakMethod, LeakTest},
    installation::v1::{Run, StepKind},
};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, figure, found, words::ms};
use crate::{
    plan::Operator,
    segment_file::{Kept, step_end_ms},
};

const LENGTH: (&str, Operator) = ("leak_test_length_difference_percent", Operator::AtMost);
const DROP: (&str, Operator) = ("air_test_drop_kpa", Operator::AtMost);
const METHODS: &[&str] = &["low-pressure-air", "exfiltration"];

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "leak-test",
    proves: "the lined segment was tight before its laterals were opened",
    parameters: &[ParameterKind::words(
        "methods",
        METHODS,
        "methods the owner takes; both",
    )],
    limits: &[LENGTH, DROP],
    evidence: &["run", "leak-test", "segment", "lateral-outcome"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    for run in j.runs() {
        let mut tests: Vec<_> = judging
            .file
            .leak_tests
            .iter()
            .filter(|test| test.run == run.name)
            .collect();
        tests.sort_by_key(|test| ms(test.start_time.as_ref()));
        let Some((last, earlier)) = tests.split_last() else {
            let what = format!("the leak test of run {}", run.number());
            j.missing_about(
                &run.name,
                "leak-test",
                &what,
                "test before the laterals are opened and file it",
            );
            continue;
        };
        for test in earlier {
            j.uses(*test);
            let message = format!(
                "leak test {} was repeated: the last one decides",
                test.number()
            );
            j.note(found("leak-test-repeated", message).of(test.record()));
        }
        j.uses(*last);
        in_order(judging, &mut j, run, last);
        on_this_segment(judging, &mut j, last);
        tight(judging, &mut j, last);
    }
    j.outcome()
}

fn in_order(judging: &Judging<'_>, j: &mut Judgement<'_>, run: &Kept<Run>, test: &Kept<LeakTest>) {
    let file = judging.file;
    let (Some(start), Some(end)) = (ms(test.start_time.as_ref()), ms(test.end_time.as_ref()))
    else {
        return;
    };
    let cure = step_end_ms(run, StepKind::Cure);
    match cure {
        None => {
            let what = format!("the cure among the steps of run {}", run.number());
            j.missing_about(
                &run.name,
                "cure-step",
                &what,
                "revise the run with its times",
            );
        }
        Some(cure) if start < cure => {
            let message = format!(
                "leak test {} began at {}, before the cure ended at {}: test again",
                test.number(),
                file.local_time(start),
                file.local_time(cure)
            );
            j.hold(
                found("leak-test-before-cure", message)
                    .of(test.record())
                    .of(run.record()),
            );
        }
        Some(_) => {}
    }
    let reopened = file.reopened_ms(run);
    j.fact(format!("{}.test_ms", test.id()), format!("{start} {end}"));
    if let Some(reopened) = reopened.filter(|reopened| end > *reopened) {
        let message = format!(
            "leak test {} ended at {}, after the first lateral was opened at {}: plug every \
             lateral and test again, or show it as a variance",
            test.number(),
            file.local_time(end),
            file.local_time(reopened)
        );
        j.hold(
            found("leak-test-after-reopening", message)
                .of(test.record())
                .of(run.record()),
        );
    }
}

fn on_this_segment(judging: &Judging<'_>, j: &mut Judgement<'_>, test: &Kept<LeakTest>) {
    let Some(segment) = judging.file.segment() else {
        j.missing("segment", "the segment's record", "file it");
        return;
    };
    j.uses(segment);
    let wall_to_wall = segment.length_wall_to_wall_m;
    let difference = 100.0 * (test.length_m - wall_to_wall).abs() / wall_to_wall;
    let key = format!("{}.length_difference_percent", test.id());
    let both = [test.record(), segment.record()];
    let words = (
        "difference of the tested length from the segment",
        "test the whole segment",
    );
    j.within(
        ("leak-test-length-differs", &key),
        difference,
        LENGTH,
        words,
        &both,
    );
    if (test.diameter_mm - segment.nominal_diameter_mm).abs() > 1e-9 {
        let message = format!(
            "leak test {} is worked out with {} mm, the segment's nominal diameter is {} mm: the \
             time grows with the diameter, so work it out with the host's",
            test.number(),
            figure(test.diameter_mm),
            figure(segment.nominal_diameter_mm)
        );
        let found = found("leak-test-diameter-differs", message).of_all(both);
        if test.diameter_mm < segment.nominal_diameter_mm {
            j.hold(found)
        } else {
            j.note(found)
        }
    }
}

fn tight(judging: &Judging<'_>, j: &mut Judgement<'_>, test: &Kept<LeakTest>) {
    let (id, number) = (test.id(), test.number());
    let method = match test.method() {
        LeakMethod::LowPressureAir => METHODS[0],
        LeakMethod::Exfiltration => METHODS[1],
        LeakMethod::Unspecified => "",
    };
    let taken = judging.words("methods");
    j.fact(format!("{id}.method"), method);
    if method.is_empty() || (!taken.is_empty() && !taken.iter().any(|taken| taken == method)) {
        let by = match method {
            "" => "names no method".to_owned(),
            method => format!("is by {method}"),
        };
        let taken = match taken {
            [] => METHODS.join(" or "),
            taken => taken.join(" or "),
        };
        let message = format!("leak test {number} {by}, the plan takes {taken}: test again");
        j.hold(found("leak-test-method", message).of(test.record()));
    }
    if test.method() == LeakMethod::Exfiltration {
        compare(
            j,
            test,
            ("water lost", "litre"),
            test.water_lost_litre,
            test.allowed_loss_litre,
        );
    } else {
        let drop = test
            .start_pressure_kpa
            .zip(test.end_pressure_kpa)
            .map(|(start, end)| start - end);
        match drop {
            Some(drop) => {
                let key = format!("{id}.air_test_drop_kpa");
                let words = (
                    "fall of pressure in the leak test",
                    "find the leak and test again",
                );
                j.within(
                    ("air-test-drop-above", &key),
                    drop,
                    DROP,
                    words,
                    &[test.record()],
                );
            }
            None => {
                let what = format!("the pressures of leak test {number}");
                j.missing_about(
                    &test.name,
                    "test-pressure",
                    &what,
                    "revise the test with both",
                );
            }
        }
        compare(
            j,
            test,
            ("time required", "s"),
            test.required_time_s,
            Some(test.timed_s),
        );
    }
    for finding in test.findings.iter().filter(|finding| finding.holds) {
        let message = format!("leak test {number}: {}", finding.message);
        j.hold(found(finding.code.clone(), message).of(test.record()));
    }
}

/// Holds unless the first value is no larger than the second.
fn compare(
    j: &mut Judgement<'_>,
    test: &Kept<LeakTest>,
    (what, unit): (&str, &str),
    value: Option<f64>,
    limit: Option<f64>,
) {
    let Some((value, limit)) = value.zip(limit) else {
        let what = format!("{what} of leak test {}", test.number());
        j.missing_about(
            &test.name,
            "test-result",
            &what,
            "write the test again so that it is worked out",
        );
        return;
    };
    j.fact(format!("{}.{what}", test.id()), format!("{value} {limit}"));
    if value.is_nan() || limit.is_nan() || value > limit + 1e-9 {
        let message = format!(
            "{what} of leak test {} is {} {unit}, the test has {} {unit}: find the leak and test \
             again",
            test.number(),
            figure(value),
            figure(limit)
        );
        j.hold(
            found("leak-test-failed", message)
                .of(test.record())
                .fact(what, value)
                .fact("has", limit),
        );
    }
}
