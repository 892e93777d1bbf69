//! # Holds
//! Acceptance, while a batch in the liner has no test, or too few.
//! # Why
//! A result stands for its batch; a batch without one stands on nothing.
//! # Released when
//! Every batch of every liner in force was tested in at least one laboratory report of this
//! project, and the liner made of it is no longer than its reports may stand for.
//! # Evidence
//! Liner, liner certificate, batches, laboratory reports, also those of other segments.
//! # Parameters
//! None.
//! # Source
//! One test per batch or 3,000 ft: City of Nashua NH 2019, CIPP lining of existing sewers
//! (ultraviolet). The plan sets the length.

use std::collections::BTreeSet;

use obvert_proto::{acceptance::v1::LaboratoryReport, material::v1::LinerCertificate};
use obvert_records::names::id_of;

use super::{Evaluator, Judgement, Judging, Outcome, certified_wall::liners};
use crate::{
    plan::Operator,
    segment_file::{Kept, by_name},
};

const LENGTH: (&str, Operator) = ("length_per_report_m", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "batch-coverage",
    proves: "every batch in the liner was tested often enough",
    parameters: &[],
    limits: &[LENGTH],
    evidence: &["liner", "liner-certificate", "batch", "laboratory-report"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let mut batches = BTreeSet::new();
    for liner in liners(judging, &mut j) {
        let own: Vec<_> = file
            .certificates
            .iter()
            .filter(|c| c.liner == liner.name)
            .collect();
        if own.is_empty() {
            let what = format!("the maker's certificate of liner {}", liner.number());
            j.missing_about(
                &liner.name,
                "liner-certificate",
                &what,
                "file it: it names the batches",
            );
        }
        for certificate in own {
            j.uses(certificate);
            batches.extend(certificate.batches.iter().cloned());
        }
    }
    for batch in batches {
        j.named(&file.batches, &batch, "batch");
        covered(judging, &mut j, &batch);
    }
    j.outcome()
}

fn covered(judging: &Judging<'_>, j: &mut Judgement<'_>, batch: &str) {
    let file = judging.file;
    let made_of_it: Vec<&Kept<LinerCertificate>> = file
        .certificates
        .iter()
        .filter(|c| c.batches.iter().any(|b| b == batch))
        .collect();
    let liners: BTreeSet<&str> = made_of_it.iter().map(|c| c.liner.as_str()).collect();
    let reports: Vec<&Kept<LaboratoryReport>> = file
        .reports
        .iter()
        .chain(&file.other_reports)
        .filter(|report| liner_of(judging, &report.sample).is_some_and(|l| liners.contains(l)))
        .collect();
    let (id, number) = (id_of(batch), file.number_of(batch));
    if reports.is_empty() {
        let what = format!("a laboratory report on batch {number}");
        j.missing_about(
            batch,
            "laboratory-report",
            &what,
            "have a sample of a liner made of it tested",
        );
        return;
    }
    for report in &reports {
        j.uses(*report);
    }
    let length: f64 = made_of_it
        .iter()
        .map(|certificate| certificate.length_m)
        .sum();
    let what = format!("liner of batch {number} per laboratory report");
    let key = format!("{id}.length_per_report_m");
    let records: Vec<_> = reports.iter().map(|report| report.record()).collect();
    let words = (what.as_str(), "have another sample of the batch tested");
    j.within(
        ("too-few-reports", &key),
        length / reports.len() as f64,
        LENGTH,
        words,
        &records,
    );
}

/// Liner that a sample was cut from.
fn liner_of<'a>(judging: &Judging<'a>, sample: &str) -> Option<&'a str> {
    let file = judging.file;
    let sample = by_name(&file.samples, sample).or_else(|| by_name(&file.other_samples, sample))?;
    let run =
        by_name(&file.runs, &sample.run).or_else(|| by_name(&file.other_runs, &sample.run))?;
    Some(&run.message.liner)
}
