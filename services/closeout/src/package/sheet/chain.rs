//! One liner with the records that follow it from design to pipe.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Sample},
    installation::v1::{CureRecord, Run},
    material::v1::{Liner, LinerCertificate, LinerOrder, ReceivingCheck},
};

use crate::segment_file::{Kept, SegmentFile, by_name};

/// Records of one liner, as far as they are on file; of several, the last.
pub(super) struct Chain<'a> {
    pub(super) run: Option<&'a Kept<Run>>,
    pub(super) liner: Option<&'a Kept<Liner>>,
    pub(super) order: Option<&'a Kept<LinerOrder>>,
    pub(super) certificate: Option<&'a Kept<LinerCertificate>>,
    pub(super) receiving: Option<&'a Kept<ReceivingCheck>>,
    pub(super) log: Option<&'a Kept<CureRecord>>,
    pub(super) sample: Option<&'a Kept<Sample>>,
    pub(super) report: Option<&'a Kept<LaboratoryReport>>,
}

/// A chain for each run that lined the segment; before any run, one for each liner or order.
pub(super) fn chains(file: &SegmentFile) -> Vec<Chain<'_>> {
    let runs = file.lining_runs();
    if !runs.is_empty() {
        return runs
            .into_iter()
            .map(|run| chain(file, Some(run), &run.liner))
            .collect();
    }
    let liners = file.liner_names_in_force();
    if liners.is_empty() {
        let mut only = chain(file, None, "");
        only.order = file.orders_in_force().first().copied();
        return vec![only];
    }
    liners
        .iter()
        .map(|liner| chain(file, None, liner))
        .collect()
}

fn chain<'a>(file: &'a SegmentFile, run: Option<&'a Kept<Run>>, liner: &str) -> Chain<'a> {
    let record = by_name(&file.liners, liner);
    let of_run = |name: &str| run.is_some_and(|run| run.name == name);
    let samples = file.samples.iter().filter(|sample| of_run(&sample.run));
    let reports = run.map_or(Vec::new(), |run| file.reports_of(&run.name));
    let report = reports.into_iter().max_by_key(|report| report.revision);
    let tested = report.and_then(|report| by_name(&file.samples, &report.sample));
    Chain {
        run,
        liner: record,
        order: record.and_then(|liner| by_name(&file.orders, &liner.order)),
        certificate: last(file.certificates.iter().filter(|c| c.liner == liner)),
        receiving: last(file.receiving_checks.iter().filter(|c| c.liner == liner)),
        log: last(file.cure_records.iter().filter(|log| of_run(&log.run))),
        sample: tested.or_else(|| last(samples)),
        report,
    }
}

fn last<'a, M: 'a>(kept: impl Iterator<Item = &'a Kept<M>>) -> Option<&'a Kept<M>> {
    kept.max_by_key(|record| record.revision)
}
