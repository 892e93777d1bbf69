//! Reads what a sheet is written from, all of it at the design's own revision.

use obvert_ledger::Ledger;
use obvert_proto::{
    Problem, Violation,
    design::v1::{Record, WallDesign, record::Body},
};
use obvert_records::{names, refusal};
use prost::Message;
use sha2::{Digest, Sha256};

use super::Subject;

/// What the sheet of a record is written from.
///
/// # Errors
///
/// `FIELDS_INVALID` when the record has no body, or a refusal of the ledger.
pub(crate) async fn load(
    ledger: &Ledger,
    record: Record,
    with_us_units: bool,
) -> Result<Subject, Problem> {
    let meta = record.meta.unwrap_or_default();
    let Some(content) = record.body else {
        let message = format!("\"{}\" has no body to calculate", meta.name);
        return Err(Problem::fields(vec![Violation::new("name", message)]));
    };
    let parts = names::parse(&meta.name);
    let (project_id, collection, id) = parts.map_or(("", "", ""), |parts| {
        (parts.project, parts.collection, parts.id)
    });
    let (at, home) = (meta.revision, names::join("", "projects", project_id));
    let (segment_name, design_name) = names_of(&content);
    let wanted = [home.as_str(), segment_name, design_name];
    let wanted = wanted.into_iter().filter(|name| !name.is_empty());
    let wanted = wanted.map(str::to_owned).collect();
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
    let segment = body(segment_name);
    let segment = obvert_proto::project::v1::Segment::decode(segment).map_err(unread)?;
    let named_design = WallDesign::decode(body(design_name)).map_err(unread)?;
    let commit = ledger.commit_bytes(project_id.to_owned(), at).await;
    let commit = commit.map_err(refusal)?.unwrap_or_default();
    Ok(Subject {
        record: format!("{collection}/{id}@{at}"),
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
        named_design,
        body: content,
    })
}

/// Segment that the record is of, the first of several, and the wall design it names.
fn names_of(body: &Body) -> (&str, &str) {
    match body {
        Body::WallDesign(design) => (&design.segment, ""),
        Body::HydraulicCheck(check) => (&check.segment, &check.design),
        Body::PullInCheck(check) => (check.segments.first().map_or("", String::as_str), ""),
        Body::PressureDesign(design) => (&design.segment, &design.design),
        Body::AsBuiltCheck(check) => (&check.segment, &check.design),
    }
}
