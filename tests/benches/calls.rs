//! Channels, keys, and the message of the bare server.

use std::net::SocketAddr;

use bytes::Bytes;
use tonic::{
    Request, Status,
    client::Grpc,
    codegen::http::uri::PathAndQuery,
    metadata::{Ascii, MetadataValue},
    service::{Interceptor, interceptor::InterceptedService},
    transport::{Channel, Endpoint},
};
use tonic_prost::ProstCodec;

use crate::support::Server;

/// One HTTP/2 connection is one task on each side, so callers share a few.
pub(crate) const CHANNELS: usize = 4;

/// Echoes a payload.
pub(crate) const ECHO: &str = "/bare.Bare/Echo";
/// Makes a payload durable.
pub(crate) const APPEND: &str = "/bare.Bare/Append";
/// Counts the rows or bytes of a cure log.
pub(crate) const COUNT: &str = "/bare.Bare/Count";
/// Typesets a document and digests as many bytes as a package has.
pub(crate) const PACKAGE: &str = "/bare.Bare/Package";
/// Answers each row of a stream with the answer that was kept.
pub(crate) const WALLS: &str = "/bare.Bare/Walls";

/// As many bytes as a message of obvertd has, with nothing in them to read.
#[derive(Clone, PartialEq, prost::Message)]
pub(crate) struct Payload {
    #[prost(bytes = "bytes", tag = "1")]
    pub(crate) data: Bytes,
    #[prost(uint32, tag = "2")]
    pub(crate) answer_bytes: u32,
    #[prost(uint32, tag = "3")]
    pub(crate) stored_bytes: u32,
}

impl Payload {
    pub(crate) fn of(data_bytes: usize, answer_bytes: usize, stored_bytes: u64) -> Self {
        Self {
            data: Bytes::from(vec![0x5a; data_bytes]),
            answer_bytes: u32::try_from(answer_bytes).expect("a small answer"),
            stored_bytes: u32::try_from(stored_bytes).expect("a small record"),
        }
    }
}

/// Channel that puts the first key on each call.
pub(crate) type Keyed = InterceptedService<Channel, Bearer>;

/// The first key of a store.
#[derive(Clone)]
pub(crate) struct Bearer(MetadataValue<Ascii>);

impl Interceptor for Bearer {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        request
            .metadata_mut()
            .insert("authorization", self.0.clone());
        Ok(request)
    }
}

/// Channels to a server.
pub(crate) async fn channels(address: SocketAddr) -> Vec<Channel> {
    let endpoint = Endpoint::from_shared(format!("http://{address}")).expect("an address");
    let endpoint = endpoint.tcp_nodelay(true);
    let mut channels = Vec::new();
    for _ in 0..CHANNELS {
        channels.push(endpoint.connect().await.expect("the server answers"));
    }
    channels
}

/// Channels to obvertd, with its first key.
pub(crate) async fn keyed(server: &Server) -> Vec<Keyed> {
    with_key(server, channels(server.address).await)
}

/// Puts a server's first key on each call of some channels.
pub(crate) fn with_key(server: &Server, channels: Vec<Channel>) -> Vec<Keyed> {
    let bearer = Bearer(format!("Bearer {}", server.key()).parse().expect("a key"));
    channels
        .into_iter()
        .map(|c| InterceptedService::new(c, bearer.clone()))
        .collect()
}

/// One call to the bare server.
pub(crate) async fn bare(channel: Channel, path: &'static str, payload: Payload) {
    let mut grpc = Grpc::new(channel);
    grpc.ready().await.expect("the bare server answers");
    let codec = ProstCodec::<Payload, Payload>::default();
    let answer = grpc
        .unary(
            Request::new(payload),
            PathAndQuery::from_static(path),
            codec,
        )
        .await;
    answer.expect("the bare server answers");
}
