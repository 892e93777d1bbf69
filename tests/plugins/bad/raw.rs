//! An evaluator whose verdicts are what no library would send.

use std::{
    convert::Infallible,
    pin::Pin,
    task::{Context, Poll, ready},
    time::Duration,
};

use bytes::Bytes;
use futures::{FutureExt, StreamExt, future::BoxFuture, stream};
use http_body::Frame;
use obvert_proto::plugin::v1::{DescribeRequest, DescribeResponse};
use tokio::time::{Instant, Sleep};
use tonic::{
    Request, Response, Status,
    body::Body,
    codegen::{Service, http},
    server::{Grpc, NamedService, ServerStreamingService, UnaryService},
};
use tonic_prost::ProstCodec;

use super::fake::description;

/// Type of an answer.
const GRPC: &str = "application/grpc";
/// Wait between two bytes.
const DROP: Duration = Duration::from_millis(20);

/// A message that no field of a verdict can be read from.
#[derive(Clone, PartialEq, prost::Message)]
pub(super) struct Other {
    #[prost(uint64, tag = "1")]
    number: u64,
    #[prost(bytes = "vec", tag = "15")]
    filling: Vec<u8>,
}

/// What is answered instead of a verdict.
#[derive(Clone, Copy)]
pub(super) enum Wrong {
    /// A message of another schema.
    Schema,
    /// One verdict after the other, without end.
    Endless,
    /// A verdict of an allowed size that comes byte by byte and never ends.
    Trickling,
}

/// An evaluator that describes itself rightly and then answers wrongly.
#[derive(Clone)]
pub(super) struct Raw {
    pub(super) name: String,
    pub(super) wrong: Wrong,
}

impl NamedService for Raw {
    const NAME: &'static str = "obvert.plugin.v1.EvaluatorService";
}

impl Service<http::Request<Body>> for Raw {
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = BoxFuture<'static, Result<Self::Response, Infallible>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        let raw = self.clone();
        async move {
            if request.uri().path().ends_with("/Describe") {
                let codec = ProstCodec::<DescribeResponse, DescribeRequest>::default();
                return Ok(Grpc::new(codec).unary(raw, request).await);
            }
            let mut grpc = Grpc::new(ProstCodec::<Other, Other>::default());
            Ok(match raw.wrong {
                Wrong::Schema => grpc.unary(Answers, request).await,
                Wrong::Endless => grpc.server_streaming(Answers, request).await,
                Wrong::Trickling => {
                    let answer = http::Response::builder().header("content-type", GRPC);
                    let body = Body::new(Trickle(Box::pin(tokio::time::sleep(DROP))));
                    answer.body(body).expect("headers of a call")
                }
            })
        }
        .boxed()
    }
}

impl UnaryService<DescribeRequest> for Raw {
    type Response = DescribeResponse;
    type Future = BoxFuture<'static, Result<Response<DescribeResponse>, Status>>;

    fn call(&mut self, _: Request<DescribeRequest>) -> Self::Future {
        let description = description(&self.name);
        async move { Ok(Response::new(description)) }.boxed()
    }
}

struct Answers;

impl UnaryService<Other> for Answers {
    type Response = Other;
    type Future = BoxFuture<'static, Result<Response<Other>, Status>>;

    fn call(&mut self, _: Request<Other>) -> Self::Future {
        let number = 7;
        async move {
            Ok(Response::new(Other {
                number,
                filling: Vec::new(),
            }))
        }
        .boxed()
    }
}

impl ServerStreamingService<Other> for Answers {
    type Response = Other;
    type ResponseStream = stream::BoxStream<'static, Result<Other, Status>>;
    type Future = BoxFuture<'static, Result<Response<Self::ResponseStream>, Status>>;

    fn call(&mut self, _: Request<Other>) -> Self::Future {
        let filling = Other {
            number: 0,
            filling: vec![0; 1 << 10],
        };
        let endless = stream::repeat(filling).map(Ok).boxed();
        async move { Ok(Response::new(endless)) }.boxed()
    }
}

/// The head of a message of 60,000 bytes, again and again: the first names the size, the others are
/// taken for its content.
struct Trickle(Pin<Box<Sleep>>);

impl http_body::Body for Trickle {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        ready!(self.0.as_mut().poll(context));
        self.0.as_mut().reset(Instant::now() + DROP);
        let head = Bytes::from_static(&[0, 0, 0, 0xea, 0x60]);
        Poll::Ready(Some(Ok(Frame::data(head))))
    }
}
