//! A repeated request gets the answer of the first one, whatever became of the records it names.

use bytes::Bytes;
use obvert_acceptance::Acceptance;
use obvert_proto::{
    acceptance::v1::{
        CreateRecordRequest, LeakMethod, LeakTest, Record,
        acceptance_service_client::AcceptanceServiceClient,
        acceptance_service_server::AcceptanceServiceServer, record::Body,
    },
    common::v1::{ImportTableHeader, ImportTableRequest, Write, import_table_request::Part},
    installation::v1::Run,
};
use tonic::service::interceptor::InterceptedService;

use super::{
    pipe::{at, put, run, with_run},
    store::{As, PROJECT, Store, named, office, reason, write_as},
};

type Client = AcceptanceServiceClient<InterceptedService<AcceptanceServiceServer<Acceptance>, As>>;

const MAP: &str = r#"
collection = "leakTests"
[id]
column = "No"
[[column]]
column = "Segment"
field = "segment"
[[column]]
column = "Run"
field = "run"
[[column]]
column = "Method"
field = "method"
[[column]]
column = "Began"
field = "start_time"
[[column]]
column = "Ended"
field = "end_time"
[[column]]
column = "DN mm"
field = "diameter_mm"
unit = "mm"
[[column]]
column = "Length m"
field = "length_m"
unit = "m"
[[column]]
column = "Lost l"
field = "water_lost_litre"
unit = "litre"
[[column]]
column = "Head m"
field = "head_m"
unit = "m"
[[column]]
column = "Tester"
field = "tester"
"#;

const TABLE: &str = "\
No,Segment,Run,Method,Began,Ended,DN mm,Length m,Lost l,Head m,Tester
t-1,s-014,r-1,LEAK_METHOD_EXFILTRATION,2026-03-02T17:00:00Z,2026-03-02T18:00:00Z,200,90.2,1.5,0.6,KT
";

async fn with_client() -> (Store, Client) {
    let (store, _) = with_run().await;
    let server = AcceptanceServiceServer::new(Acceptance::new(store.ledger.clone()));
    let client = AcceptanceServiceClient::new(InterceptedService::new(server, As(office())));
    (store, client)
}

/// The run turns out to line the other segment, so that no test of the first may name it.
async fn move_run(store: &Store) {
    let segments = vec![named("segments", "s-015")];
    let moved = Run {
        segments,
        manholes: vec!["MH-8".into(), "MH-9".into()],
        ..run()
    };
    put(store, "runs", "r-1", &moved).await;
}

fn creating(request_id: &str, id: &str) -> CreateRecordRequest {
    let test = LeakTest {
        segment: named("segments", "s-014"),
        run: named("runs", "r-1"),
        method: LeakMethod::Exfiltration.into(),
        start_time: at(150),
        end_time: at(210),
        diameter_mm: 200.0,
        length_m: 90.2,
        water_lost_litre: Some(1.5),
        head_m: Some(0.6),
        tester: "KT".into(),
        ..LeakTest::default()
    };
    CreateRecordRequest {
        write: write_as(request_id),
        project: PROJECT.into(),
        record_id: id.into(),
        record: Some(Record {
            meta: None,
            body: Some(Body::LeakTest(test)),
        }),
    }
}

#[tokio::test]
async fn a_record_created_again_under_its_request_id_is_answered_as_it_was_at_first() {
    let (store, mut client) = with_client().await;
    let first = client
        .create_record(creating("t", "t-1"))
        .await
        .unwrap()
        .into_inner();
    move_run(&store).await;
    let before = store.revision().await;
    let again = client
        .create_record(creating("t", "t-1"))
        .await
        .unwrap()
        .into_inner();
    assert_eq!((again, store.revision().await), (first, before));
    let other = client
        .create_record(creating("t", "t-2"))
        .await
        .unwrap_err();
    assert_eq!(reason(&other), "REQUEST_ID_REUSED");
    let new = client
        .create_record(creating("t2", "t-2"))
        .await
        .unwrap_err();
    assert_eq!(reason(&new), "FIELDS_INVALID");
    let validating = |write: Write| Write {
        validate_only: true,
        ..write
    };
    let mut request = creating("t", "t-1");
    request.write = request.write.map(validating);
    let judged = client.create_record(request).await.unwrap_err();
    assert_eq!(
        reason(&judged),
        "FIELDS_INVALID",
        "validate_only judges what stands now"
    );
}

#[tokio::test]
async fn a_created_record_is_answered_as_it_is_read_back() {
    let (_store, mut client) = with_client().await;
    let created = client
        .create_record(creating("t", "t-1"))
        .await
        .unwrap()
        .into_inner();
    let name = created.meta.clone().unwrap().name;
    let request = obvert_proto::common::v1::GetRecordRequest { name, revision: 0 };
    let read = client.get_record(request).await.unwrap().into_inner();
    assert_eq!(created, read);
    let Some(Body::LeakTest(test)) = read.body else {
        panic!("another kind came back")
    };
    assert_eq!(test.timed_s, 3600.0, "the server completed it");
}

#[tokio::test]
async fn a_table_imported_again_under_its_request_id_is_answered_as_it_was_at_first() {
    let (store, mut client) = with_client().await;
    let mut import = async |request_id: &str, table: &'static str| {
        let header = ImportTableHeader {
            write: write_as(request_id),
            project: PROJECT.into(),
            collection: "leakTests".into(),
            column_map: MAP.into(),
            file_name: "tests.csv".into(),
        };
        let parts = [
            Part::Header(header),
            Part::Data(Bytes::from_static(table.as_bytes())),
        ];
        let parts = parts.map(|part| ImportTableRequest { part: Some(part) });
        let answer = client.import_table(tokio_stream::iter(parts)).await;
        answer.map(tonic::Response::into_inner)
    };
    let first = import("table", TABLE).await.unwrap();
    assert_eq!(first.names, [named("leakTests", "t-1")]);
    move_run(&store).await;
    let again = import("table", TABLE).await.unwrap();
    assert_eq!(again, first);
    let refused = import("table-2", TABLE).await.unwrap_err();
    assert_eq!(reason(&refused), "TABLE_INVALID");
}
