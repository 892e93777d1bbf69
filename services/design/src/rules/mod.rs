//! Judges a design with the records it names, and writes its result.

mod as_built;
mod beside_segment;
mod cross_checks;
mod deflection;
mod engineering;
mod findings;
mod hydraulics;
mod pressure;
mod pull_in;
mod sensitivity;
mod wall;

use obvert_proto::{
    Problem, Violation,
    design::v1::{Record, WallDesign, record::Body},
    project::v1::Segment,
};
use obvert_records::{Judged, Named, Register};

use crate::record::{check_wall_design, checks};

pub(crate) use as_built::as_built_result;
pub(crate) use wall::{wall_result, wall_result_with_sensitivities};

/// This program, as a design names what worked it out.
pub(crate) const PROGRAM: &str = concat!("Obvert ", env!("CARGO_PKG_VERSION"));

/// The designs of a ledger.
pub struct DesignRegister;

impl Register for DesignRegister {
    type Record = Record;
    const RECORD_TYPE: &'static str = "obvert.design.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        match &record.body {
            Some(Body::WallDesign(design)) => check_wall_design(design),
            Some(Body::HydraulicCheck(check)) => checks::hydraulic(check),
            Some(Body::PullInCheck(check)) => checks::pull_in(check),
            Some(Body::PressureDesign(design)) => checks::pressure(design),
            Some(Body::AsBuiltCheck(check)) => checks::as_built(check),
            None => Vec::new(),
        }
    }

    fn judge(record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        let body = match record.body {
            Some(Body::WallDesign(design)) => Some(Body::WallDesign(judged(design, named)?)),
            Some(Body::HydraulicCheck(check)) => {
                Some(Body::HydraulicCheck(hydraulics::judged(check)?))
            }
            Some(Body::PullInCheck(check)) => {
                Some(Body::PullInCheck(pull_in::judged(check, named)?))
            }
            Some(Body::PressureDesign(design)) => {
                Some(Body::PressureDesign(pressure::judged(design, named)?))
            }
            Some(Body::AsBuiltCheck(check)) => {
                Some(Body::AsBuiltCheck(as_built::judged(check, named)?))
            }
            None => None,
        };
        Ok(Judged::plain(Record { body, ..record }))
    }
}

fn judged(design: WallDesign, named: &Named) -> Result<WallDesign, Problem> {
    let inputs = design.inputs.clone().unwrap_or_default();
    let mut result = wall_result_with_sensitivities(&inputs)
        .map_err(|wrong| refused("wall_design.inputs", wrong))?;
    PROGRAM.clone_into(&mut result.program);
    if let Some(segment) = named.get::<Segment>(&design.segment) {
        let wrong = beside_segment::refusals(&inputs, &segment);
        if !wrong.is_empty() {
            return Err(refused("wall_design.inputs", wrong));
        }
        let revision = named.revision(&design.segment);
        let found = beside_segment::findings(&inputs, &design.segment, revision, &segment);
        result.findings.extend(found);
    }
    Ok(WallDesign {
        result: Some(result),
        ..design
    })
}

/// What a formula does not take, below a field of the record.
fn refused(below: &str, wrong: Vec<Violation>) -> Problem {
    let place = |v: Violation| Violation::new(format!("{below}.{}", v.field), v.message);
    Problem::fields(wrong.into_iter().map(place).collect())
}

/// The wall design that another record names, of the same segment.
fn design_of(
    named: &Named,
    design: &str,
    segment: &str,
    field: &str,
) -> Result<WallDesign, Problem> {
    let found = named.get::<WallDesign>(design).unwrap_or_default();
    if found.segment == segment && found.result.is_some() {
        return Ok(found);
    }
    let message = format!(
        "names the design of {}, the segment here is {segment}: name a design of this segment",
        found.segment
    );
    Err(Problem::fields(vec![Violation::new(field, message)]))
}
