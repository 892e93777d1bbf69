//! What a key and TLS cost: the smallest calls of obvertd, beside as small a call of a bare server
//! that asks for no key and speaks plain text.

use obvert_proto::project::v1::{WhoAmIRequest, access_service_client::AccessServiceClient};
use tonic::{Request, client::Grpc, codegen::http::uri::PathAndQuery, transport::Channel};
use tonic_prost::ProstCodec;

use crate::{
    bare,
    calls::{self, CHANNELS, ECHO, Keyed, Payload},
    certificate::{encrypted, secure_endpoint},
    load::per_second,
    pairs::{self, Measured},
    support::Server,
};

/// Calls in flight.
const CALLERS: usize = 16;
/// The call that needs no key.
const HEALTH: &str = "/grpc.health.v1.Health/Check";
/// Bytes of an answer to who a key's caller is.
const ANSWER_BYTES: usize = 40;

/// Request without fields and answer of the health service.
#[derive(Clone, PartialEq, prost::Message)]
struct Health {
    #[prost(int32, tag = "1")]
    status: i32,
}

/// Measures calls with and without a key, with and without TLS.
pub(crate) async fn measure(bare: &bare::Child) {
    let plain = Server::start("");
    let secure = Server::start_in(encrypted(""));
    let open = calls::channels(plain.address).await;
    let mut closed = Vec::new();
    for _ in 0..CHANNELS {
        let connected = secure_endpoint(&secure).connect().await;
        closed.push(connected.expect("the server answers"));
    }
    let echoes = calls::channels(bare.address).await;
    for (what, channels, server) in [("plain text", open, &plain), ("TLS", closed, &secure)] {
        let keyed = calls::with_key(server, channels.clone());
        let none = format!("Health, no key, {what}, {CALLERS} in flight");
        let none_per_second = async || without_key(channels.clone()).await;
        pairs::measure(&none, none_per_second, async || echo(echoes.clone()).await).await;
        let key = format!("WhoAmI, key checked, {what}, {CALLERS} in flight");
        let key_per_second = async || with_key(keyed.clone()).await;
        pairs::measure(&key, key_per_second, async || echo(echoes.clone()).await).await;
    }
}

async fn without_key(channels: Vec<Channel>) -> Measured {
    let call = move |caller: usize| {
        let mut grpc = Grpc::new(channels[caller % CHANNELS].clone());
        async move {
            grpc.ready().await.expect("the server answers");
            let codec = ProstCodec::<Health, Health>::default();
            let path = PathAndQuery::from_static(HEALTH);
            let answer = grpc.unary(Request::new(Health::default()), path, codec);
            assert_eq!(answer.await.expect("it serves").into_inner().status, 1);
        }
    };
    per_second(CALLERS, call).await
}

async fn with_key(channels: Vec<Keyed>) -> Measured {
    let clients: Vec<_> = channels.into_iter().map(AccessServiceClient::new).collect();
    let call = move |caller: usize| {
        let mut client = clients[caller % CHANNELS].clone();
        async move {
            let known = client.who_am_i(WhoAmIRequest {}).await;
            known.expect("the key is known");
        }
    };
    per_second(CALLERS, call).await
}

async fn echo(channels: Vec<Channel>) -> Measured {
    let payload = Payload::of(0, ANSWER_BYTES, 0);
    let call = move |caller: usize| {
        calls::bare(channels[caller % CHANNELS].clone(), ECHO, payload.clone())
    };
    per_second(CALLERS, call).await
}
