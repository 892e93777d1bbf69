//! Tables: every row or none, with row and column of what is wrong.

use bytes::Bytes;
use obvert_proto::{
    common::v1::{
        ImportTableHeader, ImportTableRequest, ImportTableResponse, ListRecordsRequest,
        import_table_request::Part,
    },
    project::v1::record::Body,
};
use tonic::Status;

use super::store::{
    PROJECT, Register, Store, create, fact, named, office, reason, segment, violations, write,
    write_as,
};

const MAP: &str = r#"
collection = "segments"
[id]
column = "Pipe"
prefix = "s-"
[[column]]
column = "Pipe"
field = "owner_segment_id"
[[column]]
column = "From"
field = "upstream_manhole"
[[column]]
column = "To"
field = "downstream_manhole"
[[column]]
column = "DN"
field = "nominal_diameter_mm"
unit = "in"
[[column]]
column = "CC"
field = "length_centre_to_centre_m"
unit = "ft"
[[column]]
column = "WW"
field = "length_wall_to_wall_m"
unit = "ft"
"#;

const GOOD: &str = "Pipe,From,To,DN,CC,WW\n101,MH-1,MH-2,8,300,296\n102,MH-2,MH-3,8,250,246\n";

async fn import(
    client: &mut Register,
    request_id: Option<&str>,
    csv: &str,
) -> Result<ImportTableResponse, Status> {
    let header = ImportTableHeader {
        write: request_id.map_or_else(write, write_as),
        project: PROJECT.into(),
        collection: "segments".into(),
        column_map: MAP.into(),
        file_name: "pipes.csv".into(),
    };
    let data = Bytes::copy_from_slice(csv.as_bytes());
    let parts = [Part::Header(header), Part::Data(data)];
    let parts = parts.map(|part| ImportTableRequest { part: Some(part) });
    let answer = client.import_table(tokio_stream::iter(parts)).await;
    answer.map(tonic::Response::into_inner)
}

async fn segments(client: &mut Register) -> Vec<String> {
    let request = ListRecordsRequest {
        project: PROJECT.into(),
        collection: "segments".into(),
        ..ListRecordsRequest::default()
    };
    let page = client.list_records(request).await.unwrap().into_inner();
    page.records
        .into_iter()
        .map(|record| record.meta.unwrap().name)
        .collect()
}

#[tokio::test]
async fn a_table_is_written_whole_in_one_revision_and_a_repeat_writes_nothing() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let first = import(&mut office, Some("pipes-1"), GOOD).await.unwrap();
    assert_eq!((first.row_count, first.revision), (2, 2));
    assert_eq!(segments(&mut office).await, first.names);
    let again = import(&mut office, Some("pipes-1"), GOOD).await.unwrap();
    assert_eq!((again, store.revision().await), (first, 2));
    let other = GOOD.replace("MH-3", "MH-4");
    let refused = import(&mut office, Some("pipes-1"), &other)
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "REQUEST_ID_REUSED");
}

#[tokio::test]
async fn a_table_with_wrong_rows_is_refused_whole_by_row_and_field() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let csv = format!("{GOOD}103,MH-3,MH-3,8,200,196\n104,MH-4,MH-5,8,200,240\n");
    let refused = import(&mut office, None, &csv).await.unwrap_err();
    assert_eq!(reason(&refused), "TABLE_INVALID");
    let found = violations(&refused);
    let places = [
        "pipes.csv row 4 field segment.downstream_manhole",
        "pipes.csv row 5 field segment.length_wall_to_wall_m",
    ];
    assert_eq!(found.len(), 2, "{found:#?}");
    for place in places {
        assert!(
            found.iter().any(|v| v.starts_with(place)),
            "{place} among {found:#?}"
        );
    }
    assert_eq!(
        (segments(&mut office).await, store.revision().await),
        (vec![], 1)
    );
}

#[tokio::test]
async fn a_table_that_claims_a_held_pair_of_manholes_is_refused_whole() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let holder = Body::Segment(segment("QL-014", "MH-3", "MH-2"));
    create(&mut office, PROJECT, "s-014", holder).await.unwrap();
    let refused = import(&mut office, None, GOOD).await.unwrap_err();
    assert_eq!(
        (reason(&refused), fact(&refused, "holder")),
        ("CLAIM_TAKEN".into(), named("segments", "s-014"))
    );
    assert_eq!(segments(&mut office).await, [named("segments", "s-014")]);
}
