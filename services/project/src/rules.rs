//! What a record of the register must satisfy beside those it names, and what it claims for itself.

use obvert_proto::{
    Problem, Violation,
    project::v1::{
        Attachment, Lateral, LateralRegister, Parcel, Project, Record, Segment, record::Body,
    },
};
use obvert_records::{Judged, Named, Register, names};

use crate::record;

/// Media types of a logo.
const LOGO_TYPES: [&str; 2] = ["image/svg+xml", "image/png"];
/// Largest logo.
const LOGO_BYTES: i64 = 1 << 20;

/// Register of segments, laterals, parcels and the papers about them.
pub struct ProjectRegister;

impl Register for ProjectRegister {
    type Record = Record;
    const RECORD_TYPE: &'static str = "obvert.project.v1.Record";

    fn check(record: &Record) -> Vec<Violation> {
        record::check(record)
    }

    fn judge(mut record: Record, named: &Named) -> Result<Judged<Record>, Problem> {
        let claims = match &mut record.body {
            Some(Body::Project(project)) => {
                printable_logo(project, named)?;
                Vec::new()
            }
            Some(Body::Segment(segment)) => claims_of_segment(segment),
            Some(Body::Lateral(lateral)) => vec![claim_of_lateral(lateral)],
            Some(Body::LateralRegister(register)) => {
                one_segment(register, named)?;
                Vec::new()
            }
            Some(Body::Parcel(parcel)) => {
                keep_digest(parcel, named);
                Vec::new()
            }
            _ => Vec::new(),
        };
        Ok(Judged {
            claims,
            ..Judged::plain(record)
        })
    }
}

/// A logo is a small picture; its bytes are looked at before each package.
fn printable_logo(project: &Project, named: &Named) -> Result<(), Problem> {
    let Some(logo) = named.get::<Attachment>(&project.logo) else {
        return Ok(());
    };
    let (kind, bytes) = (&logo.media_type, logo.size_bytes);
    if LOGO_TYPES.contains(&kind.as_str()) && bytes <= LOGO_BYTES {
        return Ok(());
    }
    let message = format!(
        "names a file of {kind} with {bytes} bytes: give an SVG or PNG of {LOGO_BYTES} bytes at most"
    );
    Err(Problem::fields(vec![Violation::new(
        "project.logo",
        message,
    )]))
}

/// The owner's id, and the pair of manholes in either order with the pipe's number between them.
fn claims_of_segment(segment: &Segment) -> Vec<String> {
    let mut pair = [
        part(&segment.upstream_manhole),
        part(&segment.downstream_manhole),
    ];
    pair.sort();
    let [a, b] = pair;
    let ordinal = segment.pipe_ordinal.max(1);
    let owner = &segment.owner_segment_id;
    vec![
        format!("owner-segment/{owner}"),
        format!("manholes/{a}|{b}|{ordinal}"),
    ]
}

/// An owner's id inside a claim, kept apart from the bar that follows it.
fn part(id: &str) -> String {
    id.replace('%', "%25").replace('|', "%7C")
}

/// Two laterals of a segment do not enter at the same centimetre and clock position.
fn claim_of_lateral(lateral: &Lateral) -> String {
    let segment = names::id_of(&lateral.segment);
    format!(
        "lateral-at/{segment}|{:.2}|{:.2}",
        lateral.station_m, lateral.clock_h
    )
}

fn one_segment(register: &LateralRegister, named: &Named) -> Result<(), Problem> {
    let strangers = register
        .laterals
        .iter()
        .enumerate()
        .filter_map(|(i, name)| {
            let lateral: Lateral = named.get(name)?;
            (lateral.segment != register.segment).then(|| {
                let message = format!(
                    "names {name} of {}: list laterals of {} only",
                    lateral.segment, register.segment
                );
                Violation::new(format!("lateral_register.laterals[{i}]"), message)
            })
        });
    let wrong: Vec<_> = strangers.collect();
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

/// A revised parcel keeps the digest of its sheet, which callers cannot send.
fn keep_digest(parcel: &mut Parcel, named: &Named) {
    if let Some((_, before)) = named.before::<Parcel>() {
        parcel.sheet_digest = before.sheet_digest;
    }
}
