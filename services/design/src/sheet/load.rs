//! Reads what a sheet is written from, all of it at the design's own revision.

use obvert_ledger::Ledger;
use obvert_proto::{
    Problem, Violation,
    design::v1::{Record, record::Body},
};
use obvert_records::{names, refusal};
use prost::Message;
use sha2::{Digest, Sha256};

use super::Subject;

/// What the sheet of a record is written from.
///
/// # Errors
///
/// `FIELDS_INVALID` when the record is no wall design, or a refusal of the ledger.
pub(crate) async fn load(
    ledger: &Ledger,
    record: Record,
    with_us_units: bool,
) -> Result<Subject, Problem> {
    let meta = record.meta.unwrap_or_default();
    let Some(Body::WallDesign(design)) = record.body else {
        let message = format!(
            "is \"{}\", which is no wall design: name projects/{{project}}/designs/{{id}}",
            meta.name
        );
        return Err(Problem::fields(vec![Violation::new("name", message)]));
    };
    let parts = names::parse(&meta.name);
    let (project_id, id) = parts.map_or(("", ""), |parts| (parts.project, parts.id));
    let (at, home) = (meta.revision, names::join("", "projects", project_id));
    let wanted = vec![home.clone(), design.segment.clone()];
    let found = ledger.get_many(wanted, at).await.map_err(refusal)?;
    let body = |name: &str| {
        let stored = found.iter().find(|stored| stored.name == name);
        stored.map(|stored| stored.body.clone()).unwrap_or_default()
    };
    let unread = |error: prost::DecodeError| {
        let reason = obvert_proto::common::v1::Reason::StoreCorrupt;
        Problem::new(reason, format!("a record cannot be read: {error}"))
    };
    let project = obvert_proto::project::v1::Project::decode(body(&home)).map_err(unread)?;
    let segment = body(&design.segment);
    let segment = obvert_proto::project::v1::Segment::decode(segment).map_err(unread)?;
    let commit = ledger.commit_bytes(project_id.to_owned(), at).await;
    let commit = commit.map_err(refusal)?.unwrap_or_default();
    Ok(Subject {
        record: format!("designs/{id}@{at}"),
        id: id.to_owned(),
        revision: at,
        commit_time_ms: meta
            .commit_time
            .as_ref()
            .map_or(0, obvert_proto::dates::unix_ms),
        commit_sha256: Sha256::digest(&commit)
            .iter()
            .map(|b| format!("{b:02x}"))
            .collect(),
        us: with_us_units || project.show_us_units,
        project,
        segment,
        design,
    })
}
