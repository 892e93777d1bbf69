//! Judges a design with the segment it is for, and writes its result.

mod beside_segment;
mod findings;
mod wall;

use obvert_proto::{
    Problem, Violation,
    design::v1::{Record, WallDesign, record::Body},
    project::v1::Segment,
};
use obvert_records::{Judged, Named, Register};

use crate::record::check_wall_design;

pub(crate) use wall::wall_result;

/// The designs of a ledger.
pub struct DesignRegister;

impl Register for DesignRegister {
    type Record = Record;
    const RECORD_TYPE: &'static str = "obvert.design.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        match &record.body {
            Some(Body::WallDesign(design)) => check_wall_design(design),
            None => Vec::new(),
        }
    }

    fn judge(record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        let body = match record.body {
            Some(Body::WallDesign(design)) => Some(Body::WallDesign(judged(design, named)?)),
            None => None,
        };
        Ok(Judged::plain(Record { body, ..record }))
    }
}

fn judged(design: WallDesign, named: &Named) -> Result<WallDesign, Problem> {
    let inputs = design.inputs.clone().unwrap_or_default();
    let mut result = wall_result(&inputs).map_err(|wrong| {
        let place =
            |v: Violation| Violation::new(format!("wall_design.inputs.{}", v.field), v.message);
        Problem::fields(wrong.into_iter().map(place).collect())
    })?;
    if let Some(segment) = named.get::<Segment>(&design.segment) {
        let revision = named.revision(&design.segment);
        let found = beside_segment::findings(&inputs, &design.segment, revision, &segment);
        result.findings.extend(found);
    }
    Ok(WallDesign {
        result: Some(result),
        ..design
    })
}
