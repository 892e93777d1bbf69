//! Judges one record with the records it names, and writes what the server works out.

mod air_test;
mod exfiltration_test;
mod leak_test;
mod nonconformance;
mod of_run;
mod report;
mod survey;

use obvert_proto::{
    Problem, Violation,
    acceptance::v1::{Record, record::Body},
};
use obvert_records::{Judged, Named, Register};

/// The samples, reports, leak tests, surveys and nonconformances of a ledger.
pub struct AcceptanceRegister;

impl Register for AcceptanceRegister {
    type Record = Record;
    const RECORD_TYPE: &'static str = "obvert.acceptance.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        crate::record::check(record)
    }

    fn judge(record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        let Record { meta, body } = record;
        let (body, claims) = match body {
            Some(Body::Sample(sample)) => {
                of_run::check_sample(&sample, named)?;
                let claim = format!("sample-number/{}", sample.sample_number);
                (Some(Body::Sample(sample)), vec![claim])
            }
            Some(Body::LaboratoryReport(report)) => {
                let claim = report::claim(&report);
                (
                    Some(Body::LaboratoryReport(report::completed(report)?)),
                    vec![claim],
                )
            }
            Some(Body::LeakTest(test)) => {
                of_run::check_leak_test(&test, named)?;
                (Some(Body::LeakTest(leak_test::completed(test))), Vec::new())
            }
            Some(Body::Survey(survey)) => {
                survey::check_start(&survey, named)?;
                (Some(Body::Survey(survey)), Vec::new())
            }
            Some(Body::Nonconformance(found)) => {
                nonconformance::check(&found, named)?;
                (Some(Body::Nonconformance(found)), Vec::new())
            }
            None => (None, Vec::new()),
        };
        Ok(Judged {
            claims,
            ..Judged::plain(Record { meta, body })
        })
    }
}
