//! Walls of a whole project, checked and not stored, in one stream.

use std::time::Instant;

use futures::stream;
use obvert_proto::design::v1::{
    CheckWallsRequest, CheckWallsResponse, design_service_client::DesignServiceClient,
};
use prost::Message;
use tonic::{
    Request, Streaming, client::Grpc, codegen::http::uri::PathAndQuery, transport::Channel,
};
use tonic_prost::ProstCodec;

use crate::{
    bare,
    calls::{self, WALLS},
    pairs::{self, Measured},
    support::Server,
    unary,
};

/// Segments of a stream.
const SEGMENTS: i64 = 10_000;

/// Measures CheckWalls beside a stream of the same messages that works nothing out.
pub(crate) async fn measure(bare: &bare::Child) {
    let server = Server::start("");
    let keyed = calls::keyed(&server).await.remove(0);
    let client = DesignServiceClient::new(keyed);
    let channel = calls::channels(bare.address).await.remove(0);
    let asked = |row_number| CheckWallsRequest {
        row_number,
        inputs: Some(unary::inputs()),
    };
    let first = client.clone().check_walls(stream::iter([asked(1)])).await;
    let mut first = first.expect("a stream").into_inner();
    let answer = first.message().await.expect("an answer").expect("one");
    bare.keep_answer(&answer.encode_to_vec());
    let what = format!(
        "segments checked in a stream of {SEGMENTS} ({} B in, {} B out)",
        asked(1).encoded_len(),
        answer.encoded_len()
    );
    let product = async || {
        let mut client = client.clone();
        let began = Instant::now();
        let answers = client
            .check_walls(stream::iter((0..SEGMENTS).map(asked)))
            .await;
        counted(began, answers.expect("a stream").into_inner()).await
    };
    let ceiling = async || {
        let began = Instant::now();
        counted(began, bare_stream(channel.clone(), asked).await).await
    };
    pairs::measure(&what, product, ceiling).await;
}

async fn bare_stream(
    channel: Channel,
    asked: impl Fn(i64) -> CheckWallsRequest + Send + 'static,
) -> Streaming<CheckWallsResponse> {
    let mut grpc = Grpc::new(channel);
    grpc.ready().await.expect("the bare server answers");
    let codec = ProstCodec::<CheckWallsRequest, CheckWallsResponse>::default();
    let rows = Request::new(stream::iter((0..SEGMENTS).map(asked)));
    let answers = grpc.streaming(rows, PathAndQuery::from_static(WALLS), codec);
    answers.await.expect("a stream").into_inner()
}

async fn counted(began: Instant, mut answers: Streaming<CheckWallsResponse>) -> Measured {
    let mut expected = 0;
    while let Some(answer) = answers.message().await.expect("an answer") {
        assert_eq!(answer.row_number, expected);
        expected += 1;
    }
    assert_eq!(expected, SEGMENTS);
    let all = u64::try_from(SEGMENTS).expect("a count");
    Measured {
        per_second: all as f64 / began.elapsed().as_secs_f64(),
        all,
    }
}
