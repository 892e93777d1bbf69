//! Judges one record with the records it names.

mod day_close;
mod outcome;
mod run;

use obvert_proto::{
    Problem, Violation,
    installation::v1::{Record, record::Body},
};
use obvert_records::{Judged, Named, Register, Related};

/// The runs, cure records, outcomes of laterals and day closes of a ledger.
pub struct InstallationRegister;

impl Register for InstallationRegister {
    type Record = Record;
    const RECORD_TYPE: &'static str = "obvert.installation.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        crate::record::check(record)
    }

    fn related(record: &Record, named: &Named) -> Vec<Related> {
        match &record.body {
            Some(Body::DayClose(close)) => day_close::related(close, named),
            _ => Vec::new(),
        }
    }

    fn judge(record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        match &record.body {
            Some(Body::Run(run)) => {
                let claims = run::judge(run, named)?;
                Ok(Judged {
                    claims,
                    ..Judged::plain(record)
                })
            }
            Some(Body::LateralOutcome(outcome)) => {
                let claim = outcome::judge(outcome, named)?;
                Ok(Judged::plain(record).claim(claim))
            }
            Some(Body::DayClose(close)) => {
                let asserts = day_close::judge(close, named)?;
                Ok(Judged {
                    asserts,
                    ..Judged::plain(record)
                })
            }
            Some(Body::CureRecord(_)) | None => Ok(Judged::plain(record)),
        }
    }
}
