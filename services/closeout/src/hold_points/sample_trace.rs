//! # Holds
//! Any result that cannot be traced to this segment's liner.
//! # Why
//! `MH 12` on a sample does not say which of its pipes was cut; the test is then worth nothing.
//! # Released when
//! Every run has a sample of this segment, cut from it at one of its manholes, numbered before the
//! cut, with the hoop direction marked and a custody that begins at the cut and runs forward; and
//! every laboratory report repeats the sample's number.
//! # Evidence
//! Run, sample, laboratory report.
//! # Parameters
//! `numbered_before_cut`: whether the record, or the time at which it says it was observed, must be
//! no later than the cut; true when left out.
//! # Source
//! Chain of custody: City of Nashua NH 2019 and City of South Bend IN, section 4; the number before
//! the cut is an own rule.

use obvert_proto::{acceptance::v1::Sample, dates::unix_ms, installation::v1::Run};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, found, words::ms};
use crate::segment_file::{Kept, by_name};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "sample-trace",
    proves: "every sample is traced from its cut to the report that names it",
    parameters: &[ParameterKind::flag(
        "numbered_before_cut",
        "filed or observed before the cut; true",
    )],
    limits: &[],
    evidence: &["run", "sample", "laboratory-report"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let runs = j.runs();
    for run in &runs {
        let samples: Vec<_> = file
            .samples
            .iter()
            .filter(|sample| sample.run == run.name)
            .collect();
        if samples.is_empty() {
            let what = format!("a sample of run {}", run.number());
            j.missing_about(&run.name, "sample", &what, "number it, cut it and file it");
        }
        for sample in samples {
            j.uses(sample);
            at_the_cut(judging, &mut j, run, sample);
            custody(judging, &mut j, sample);
        }
    }
    for sample in file
        .samples
        .iter()
        .filter(|s| by_name(&file.runs, &s.run).is_none())
    {
        let message = format!(
            "sample {} is said to come from a run over other segments: correct it",
            sample.sample_number
        );
        j.hold(found("sample-of-other-run", message).of(sample.record()));
    }
    echoed(judging, &mut j);
    j.outcome()
}

fn at_the_cut(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    run: &Kept<Run>,
    sample: &Kept<Sample>,
) {
    let number = &sample.sample_number;
    j.fact(format!("{}.sample_number", sample.id()), number);
    j.fact(format!("{}.manhole", sample.id()), &sample.manhole);
    if !run.manholes.contains(&sample.manhole) {
        let message = format!(
            "sample {number} was cut at {}, run {} passed {}: correct the manhole or cut another \
             sample",
            sample.manhole,
            run.number(),
            run.manholes.join(", ")
        );
        j.hold(
            found("sample-at-other-manhole", message)
                .of(sample.record())
                .of(run.record()),
        );
    }
    if !sample.hoop_direction_marked {
        let message = format!(
            "the hoop direction is not marked on sample {number}: the laboratory cannot test it"
        );
        j.hold(found("hoop-direction-not-marked", message).of(sample.record()));
    }
    let Some(cut) = ms(sample.cut_time.as_ref()) else {
        return;
    };
    j.fact(format!("{}.cut_ms", sample.id()), cut);
    let first = judging
        .file
        .former_samples
        .iter()
        .find(|former| former.name == sample.name);
    let first = first.unwrap_or(sample);
    let numbered = first.observed_time_ms.unwrap_or(first.commit_time_ms);
    if judging.flag("numbered_before_cut", true) && numbered > cut {
        let message = format!(
            "sample {number} was numbered at {}, after it was cut at {}: print the number first, \
             and file when that was",
            judging.file.local_time(numbered),
            judging.file.local_time(cut)
        );
        j.hold(found("sample-numbered-after-cut", message).of(sample.record()));
    }
}

fn custody(judging: &Judging<'_>, j: &mut Judgement<'_>, sample: &Kept<Sample>) {
    let mut before = ms(sample.cut_time.as_ref()).unwrap_or(i64::MIN);
    for step in &sample.custody {
        let Some(time) = step.custody_time.as_ref().map(unix_ms) else {
            continue;
        };
        if time < before {
            let message = format!(
                "sample {} changed hands at {}, earlier than the step before: correct the custody",
                sample.sample_number,
                judging.file.local_time(time)
            );
            j.hold(found("custody-out-of-order", message).of(sample.record()));
        }
        before = time;
    }
    if sample.custody.is_empty() {
        let what = format!("the custody of sample {}", sample.sample_number);
        j.missing_about(
            &sample.name,
            "custody",
            &what,
            "revise the sample with every hand-over",
        );
    }
}

fn echoed(judging: &Judging<'_>, j: &mut Judgement<'_>) {
    for report in &judging.file.reports {
        j.uses(report);
        let printed = &report.sample_number_in_report;
        let Some(sample) = by_name(&judging.file.samples, &report.sample) else {
            let what = format!("the sample of laboratory report {}", report.report_number);
            j.missing_about(
                &report.name,
                "sample",
                &what,
                "file the sample that the report is about",
            );
            continue;
        };
        j.fact(format!("{}.sample_number", report.id()), printed);
        if *printed != sample.sample_number {
            let message = format!(
                "laboratory report {} prints sample {printed}, the sample is {}: have the \
                 laboratory correct its report",
                report.report_number, sample.sample_number
            );
            let found = found("report-names-other-sample", message).of(report.record());
            j.hold(found.of(sample.record()).fact("printed", printed));
        }
    }
}
