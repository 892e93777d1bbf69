//! What a record of the material must satisfy beside those it names, and what it claims for itself.

mod evidence;
mod order;
mod release;

use obvert_proto::{
    Problem, Violation,
    material::v1::{MovementKind, Record, record::Body},
};
use obvert_records::{Judged, Named, Register, Related, names};

use crate::record;

/// Register of makers' sheets, orders, liners, their papers and movements.
pub struct MaterialRegister;

impl Register for MaterialRegister {
    type Record = Record;
    const RECORD_TYPE: &'static str = "obvert.material.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        record::check(record)
    }

    /// A release rests on the liner's papers, which refer to it.
    fn related(record: &Record, _named: &Named) -> Vec<Related> {
        let Some(Body::LinerMovement(movement)) = &record.body else {
            return Vec::new();
        };
        if movement.movement() != MovementKind::ReleasedToCrew {
            return Vec::new();
        }
        let of_liner = |collection| Related {
            target: movement.liner.clone(),
            collection,
        };
        ["certificates", "receivingChecks", "linerMovements"]
            .map(of_liner)
            .into()
    }

    fn judge(record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        let (mut claims, mut asserts) = (Vec::new(), Vec::new());
        match &record.body {
            Some(Body::LinerOrder(order)) => order::check(order, named)?,
            Some(Body::Batch(batch)) => {
                claims.push(format!("batch/{}/{}", batch.material, batch.batch_number));
            }
            Some(Body::Liner(liner)) => claims.push(format!("liner-serial/{}", liner.serial)),
            Some(Body::LinerCertificate(certificate)) => {
                claims.push(format!("certificate/{}", names::id_of(&certificate.liner)));
            }
            Some(Body::LinerMovement(movement))
                if movement.movement() == MovementKind::ReleasedToCrew =>
            {
                asserts = release::check(movement, named)?;
            }
            _ => {}
        }
        Ok(Judged {
            record,
            claims,
            asserts,
        })
    }
}
