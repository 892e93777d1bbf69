//! Cure logs streamed in: read, worked out, sealed and filed.

use std::time::Instant;

use obvert_proto::{
    common::v1::Write,
    installation::v1::{
        CureHeader, CureLogHeader, ImportCureLogRequest, import_cure_log_request::Part,
        installation_service_client::InstallationServiceClient,
    },
};
use tonic::{Request, client::Grpc, codegen::http::uri::PathAndQuery, transport::Channel};
use tonic_prost::ProstCodec;

use crate::{
    LENGTH, bare,
    calls::{self, COUNT, Keyed, Payload},
    cure_samples::{self as samples, PER_MESSAGE, SAMPLES},
    fixture,
    pairs::{self, Measured},
    support::{self, Server},
};

type Client = InstallationServiceClient<Keyed>;

/// Makes the messages of a log of a number.
type Parts = fn(u64) -> Vec<Part>;

/// Measures ImportCureLog beside a stream of the same messages that are only counted.
pub(crate) async fn measure(bare: &bare::Child) {
    let folder = support::prepared("");
    fixture::fill(&folder.path().join("store")).await;
    let server = Server::start_in(folder);
    let client = Client::new(calls::keyed(&server).await.remove(0));
    let counter = calls::channels(bare.address).await.remove(0);
    let forms: [(_, Parts, _); 2] = [
        (
            format!("columns, {PER_MESSAGE} a message"),
            samples::columns,
            Some(samples::header()),
        ),
        ("neutral CSV".to_owned(), samples::csv, None),
    ];
    let mut log = 0;
    for (form, parts, header) in forms {
        let what = format!("Cure samples as {form}, {SAMPLES} a log");
        let product = async || {
            rate(&mut log, parts, async |log, parts| {
                import(client.clone(), log, header.clone(), parts).await;
            })
            .await
        };
        let mut other = 0;
        let ceiling = async || {
            rate(&mut other, parts, async |_, parts| {
                count(counter.clone(), parts).await
            })
            .await
        };
        pairs::measure(&what, product, ceiling).await;
    }
}

/// Samples per second while logs are sent one after the other; making them is not counted.
async fn rate(
    log: &mut u64,
    parts: fn(u64) -> Vec<Part>,
    mut send: impl AsyncFnMut(u64, Vec<Part>),
) -> Measured {
    let (mut seconds, mut sent) = (0.0, 0);
    while seconds < LENGTH.as_secs_f64() {
        *log += 1;
        let parts = parts(*log);
        let began = Instant::now();
        send(*log, parts).await;
        seconds += began.elapsed().as_secs_f64();
        sent += SAMPLES;
    }
    Measured {
        per_second: sent as f64 / seconds,
        all: sent as u64,
    }
}

async fn import(mut client: Client, log: u64, header: Option<CureHeader>, parts: Vec<Part>) {
    let head = CureLogHeader {
        write: Some(Write {
            request_id: format!("log-{log}"),
            ..Write::default()
        }),
        project: fixture::PROJECT.into(),
        record_id: format!("c-{log}"),
        run: fixture::named("runs", "r-1"),
        file_name: "log.csv".into(),
        header,
        log_reader: String::new(),
    };
    let sent = std::iter::once(Part::Header(head)).chain(parts);
    let sent = sent.map(|part| ImportCureLogRequest { part: Some(part) });
    let answer = client
        .import_cure_log(tokio_stream::iter(sent))
        .await
        .expect("a filed log");
    let figures = answer
        .into_inner()
        .cure_record
        .and_then(|record| record.figures);
    let rows = figures.map_or(0, |figures| figures.row_count as usize);
    assert!(rows == SAMPLES, "{rows} rows were filed");
}

async fn count(channel: Channel, parts: Vec<Part>) {
    let sent = parts
        .into_iter()
        .map(|part| ImportCureLogRequest { part: Some(part) });
    let mut grpc = Grpc::new(channel);
    grpc.ready().await.expect("the bare server answers");
    let codec = ProstCodec::<ImportCureLogRequest, Payload>::default();
    let path = PathAndQuery::from_static(COUNT);
    let request = Request::new(tokio_stream::iter(sent));
    grpc.client_streaming(request, path, codec)
        .await
        .expect("the bare server answers");
}
