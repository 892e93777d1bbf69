//! Every RPC of a real server, with bytes that are no request and requests that were changed.

use std::{fs, time::Duration};

use bytes::{Buf, BufMut, Bytes};
use prost_reflect::MethodDescriptor;
use tokio::runtime::Handle;
use tonic::{
    Code, Request, Status,
    codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder},
    codegen::http::uri::PathAndQuery,
    transport::Channel,
};

use super::{
    Target,
    schema::{filled, methods, path},
};
use crate::server::support::Server;

/// Most answers of a stream that are read; some streams never end.
const ANSWERS: usize = 3;
/// Longest wait for one of them.
const WAIT: Duration = Duration::from_millis(30);

/// Messages as the bytes they are.
#[derive(Clone, Copy, Default)]
pub(crate) struct Raw;

impl Codec for Raw {
    type Encode = Bytes;
    type Decode = Bytes;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        Self
    }

    fn decoder(&mut self) -> Self {
        Self
    }
}

impl Encoder for Raw {
    type Item = Bytes;
    type Error = Status;

    fn encode(&mut self, item: Bytes, to: &mut EncodeBuf<'_>) -> Result<(), Status> {
        to.put(item);
        Ok(())
    }
}

impl Decoder for Raw {
    type Item = Bytes;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<Bytes>, Status> {
        Ok(Some(from.copy_to_bytes(from.remaining())))
    }
}

/// Sends one message to an RPC and reads the first answers.
pub(crate) async fn call(
    channel: &Channel,
    key: &str,
    method: &MethodDescriptor,
    message: Bytes,
) -> Result<(), Status> {
    let mut client = tonic::client::Grpc::new(channel.clone());
    let ready = client.ready().await;
    ready.map_err(|error| Status::unavailable(error.to_string()))?;
    let mut request = Request::new(tokio_stream::iter([message]));
    let bearer = format!("Bearer {key}").parse().unwrap();
    request.metadata_mut().insert("authorization", bearer);
    let path: PathAndQuery = path(method).parse().unwrap();
    let answers = client.streaming(request, path, Raw).await?;
    let mut answers = answers.into_inner();
    for _ in 0..ANSWERS {
        match tokio::time::timeout(WAIT, answers.message()).await {
            Ok(Ok(Some(_))) => {}
            Ok(Ok(None)) | Err(_) => break,
            Ok(Err(status)) => return Err(status),
        }
    }
    Ok(())
}

/// An input is the number of an RPC in two bytes, then the message.
fn apart<'a>(input: &'a [u8], methods: &'a [MethodDescriptor]) -> (&'a MethodDescriptor, &'a [u8]) {
    let (number, message) = input.split_at(input.len().min(2));
    let number = number
        .iter()
        .fold(0, |sum, byte| sum * 256 + usize::from(*byte));
    (&methods[number % methods.len()], message)
}

#[tokio::test(flavor = "multi_thread")]
async fn no_message_to_any_rpc_makes_the_server_panic() {
    let server = Server::start("");
    let (channel, key) = (server.channel().await, server.key());
    let methods = methods();
    let texts = ["projects/quillfern/segments/s-1", "quillfern", "2026-05-04"];
    let mut seeds = Vec::new();
    for (number, method) in (0_u16..).zip(&methods) {
        for (choice, text) in texts.iter().enumerate() {
            let message = filled(&method.input(), choice, text);
            seeds.push([number.to_be_bytes().to_vec(), message].concat());
        }
    }
    let handle = Handle::current();
    let mut play = |input: &[u8]| {
        let (method, message) = apart(input, &methods);
        let message = Bytes::copy_from_slice(message);
        let answer = handle.block_on(call(&channel, &key, method, message));
        if let Err(status) = answer {
            let broken = matches!(
                status.code(),
                Code::Unknown | Code::Unavailable | Code::Cancelled
            );
            // A refusal too long for a client's limits ends its connection.
            let broken = broken || status.message().contains("protocol error");
            assert!(!broken, "{}: {status:?}", path(method));
        }
    };
    let target = Target {
        name: "service_face",
        seeds,
        ordinary: 1_500,
        play: &mut play,
    };
    tokio::task::block_in_place(|| target.run());
    let log = fs::read_to_string(server.folder.path().join("stderr.log")).unwrap();
    assert!(!log.contains("panicked"), "{log}");
}
