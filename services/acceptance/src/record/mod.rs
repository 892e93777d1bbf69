//! What must hold across the fields of one record, beyond what the schema says of each.

mod leak_test;
mod nonconformance;
mod report;
mod sample;
mod survey;

use obvert_proto::{
    Violation,
    acceptance::v1::{Record, record::Body},
};

/// Violations across the fields of one record.
pub(crate) fn check(record: &Record) -> Vec<Violation> {
    match &record.body {
        Some(Body::Sample(sample)) => sample::check(sample),
        Some(Body::LaboratoryReport(report)) => report::check(report),
        Some(Body::LeakTest(test)) => leak_test::check(test),
        Some(Body::Survey(survey)) => survey::check(survey),
        Some(Body::Nonconformance(deviation)) => nonconformance::check(deviation),
        None => Vec::new(),
    }
}
