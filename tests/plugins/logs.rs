//! A native log of another form: read by a plug-in, stored untouched, judged as any other.

use std::fmt::Write as _;

use bytes::Bytes;
use obvert_installation::{Installation, cure::CureLimits};
use obvert_plugin_example::SemicolonLogger;
use obvert_plugins::{Kind, Plugins, Registration};
use obvert_proto::{
    installation::v1::{
        CureColumns, CureHeader, CureLogHeader, CureRecord, import_cure_log_request::Part,
        installation_service_client::InstallationServiceClient,
        installation_service_server::InstallationServiceServer,
    },
    plugin::v1::{
        DescribeRequest, DescribeResponse, ReadLogRequest, ReadLogResponse,
        log_reader_service_server::{LogReaderService, LogReaderServiceServer},
        read_log_response,
    },
};
use sha2::{Digest, Sha256};
use tokio_stream::Stream;
use tonic::{
    Request, Response, Status, Streaming, service::interceptor::InterceptedService,
    transport::Server,
};
use tonic_types::StatusExt;

use super::{
    fake::description,
    served::{Served, registration},
};
use crate::services::{
    cure_log::{head, send},
    pipe::{Installations, LIT_MS, with_run},
    store::{As, Store, office},
};

const ID: &str = "working-hours";

/// A log of the example's form, a sample every two seconds.
fn native(rows: i64) -> String {
    let mut text = "quillfern;r-1;FM-0041;9\n".to_owned();
    for row in 0..rows {
        let _ = writeln!(text, "{};{},5;0,29;101,5", LIT_MS + row * 2_000, row / 60);
    }
    text
}

/// The installation with one log reader.
fn client(store: &Store, registration: Registration) -> Installations {
    let plugins = Plugins::new(vec![registration]).unwrap();
    let limits = CureLimits {
        rows: 5_000,
        ..CureLimits::default()
    };
    let service = Installation::with_limits(store.ledger.clone(), limits).with_plugins(plugins);
    let server = InstallationServiceServer::new(service);
    InstallationServiceClient::new(InterceptedService::new(server, As(office())))
}

fn reader(served: &Served) -> Registration {
    registration(ID, Kind::LogReader, served.path())
}

async fn file(client: &mut Installations, id: &str, text: &[u8]) -> Result<CureRecord, Status> {
    let head = CureLogHeader {
        log_reader: ID.into(),
        ..head(id, None)
    };
    let parts = text
        .chunks(1_000)
        .map(|part| Part::Data(Bytes::copy_from_slice(part)));
    let sent = std::iter::once(Part::Header(head)).chain(parts).collect();
    Ok(send(client, sent).await?.cure_record.unwrap())
}

fn example() -> Served {
    Served::of(Server::builder().add_service(LogReaderServiceServer::new(SemicolonLogger)))
}

/// Why a log was not filed.
async fn refused(served: &Served, text: &[u8]) -> (String, String) {
    let (store, _) = with_run().await;
    let mut client = client(&store, reader(served));
    let status = file(&mut client, "c-1", text).await.unwrap_err();
    let reason = status.get_details_error_info().unwrap().reason;
    (reason, status.message().to_owned())
}

#[tokio::test]
async fn a_native_log_is_read_and_its_file_is_kept_as_it_came() {
    let (store, _) = with_run().await;
    let served = example();
    let mut client = client(&store, reader(&served));
    let text = native(2_000);
    let record = file(&mut client, "c-1", text.as_bytes()).await.unwrap();
    assert_eq!(record.log_reader, ID);
    assert_eq!(record.log_reader_version, env!("CARGO_PKG_VERSION"));
    let figures = record.figures.as_ref().unwrap();
    assert_eq!(figures.row_count, 2_000);
    assert_eq!(record.header.as_ref().unwrap().liner_serial, "FM-0041");
    let sha256: [u8; 32] = Sha256::digest(&text).into();
    let hex: String = sha256.iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(record.file_sha256, hex);
    assert_eq!(record.file_size_bytes, text.len() as i64);
    let kept = store.ledger.blobs().get(sha256).await.unwrap().unwrap();
    assert_eq!(kept, text.as_bytes());
}

#[tokio::test]
async fn a_file_that_the_reader_refuses_is_not_filed_and_the_place_is_told() {
    let text = native(20).replace(";0,29;", ";much;");
    let (reason, message) = refused(&example(), text.as_bytes()).await;
    assert_eq!(reason, "PLUGIN_FAILED");
    assert!(message.contains("line 2"), "{message}");
}

#[tokio::test]
async fn a_reader_that_is_not_registered_is_named() {
    let (_, mut client) = with_run().await;
    let status = file(&mut client, "c-1", b"x").await.unwrap_err();
    let fields = status.get_details_bad_request().unwrap().field_violations;
    assert_eq!(fields[0].field, "header.log_reader");
}

/// A reader that sends what a test wants.
#[derive(Clone, Copy)]
struct Fake(fn() -> Parts);

type Parts = std::pin::Pin<Box<dyn Stream<Item = Result<ReadLogResponse, Status>> + Send>>;

#[tonic::async_trait]
impl LogReaderService for Fake {
    type ReadLogStream = Parts;

    async fn describe(
        &self,
        _: Request<DescribeRequest>,
    ) -> Result<Response<DescribeResponse>, Status> {
        Ok(Response::new(description(ID)))
    }

    async fn read_log(
        &self,
        request: Request<Streaming<ReadLogRequest>>,
    ) -> Result<Response<Self::ReadLogStream>, Status> {
        let mut parts = request.into_inner();
        while parts.message().await?.is_some() {}
        Ok(Response::new((self.0)()))
    }
}

fn faking(parts: fn() -> Parts) -> Served {
    Served::of(Server::builder().add_service(LogReaderServiceServer::new(Fake(parts))))
}

fn header() -> Result<ReadLogResponse, Status> {
    let part = Some(read_log_response::Part::Header(CureHeader::default()));
    Ok(ReadLogResponse { part })
}

fn columns(columns: CureColumns) -> Result<ReadLogResponse, Status> {
    let part = Some(read_log_response::Part::Columns(columns));
    Ok(ReadLogResponse { part })
}

#[tokio::test]
async fn a_reader_that_hangs_or_never_ends_files_nothing() {
    let hangs = faking(|| Box::pin(tokio_stream::pending()));
    let (reason, message) = refused(&hangs, b"x").await;
    assert_eq!(reason, "PLUGIN_FAILED");
    assert!(message.contains("did not answer"), "{message}");
    let endless = faking(|| {
        let rows = || CureColumns {
            time_ms: vec![LIT_MS; 100],
            position_m: vec![0.5; 100],
            ..CureColumns::default()
        };
        let first = futures::stream::iter([header()]);
        let rest = futures::stream::repeat_with(move || columns(rows()));
        Box::pin(futures::StreamExt::chain(first, rest))
    });
    let (reason, message) = refused(&endless, b"x").await;
    assert_eq!(reason, "TOO_LARGE");
    assert!(message.contains("5000 rows"), "{message}");
}

#[tokio::test]
async fn columns_that_do_not_fit_are_not_filed() {
    let ragged = faking(|| {
        let ragged = CureColumns {
            time_ms: vec![LIT_MS; 3],
            position_m: vec![0.5; 2],
            ..CureColumns::default()
        };
        Box::pin(tokio_stream::iter([header(), columns(ragged)]))
    });
    assert_eq!(refused(&ragged, b"x").await.0, "FIELDS_INVALID");
    let headless = faking(|| Box::pin(tokio_stream::iter([columns(CureColumns::default())])));
    assert_eq!(refused(&headless, b"x").await.0, "PLUGIN_FAILED");
    let empty = faking(|| Box::pin(tokio_stream::empty()));
    assert_eq!(refused(&empty, b"x").await.0, "PLUGIN_FAILED");
    let bare = faking(|| Box::pin(tokio_stream::iter([header()])));
    assert_eq!(refused(&bare, b"x").await.0, "UPLOAD_INCOMPLETE");
}
