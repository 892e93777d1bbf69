//! The bare server: this program again, in a process of its own.

use std::{
    convert::Infallible,
    io::{BufRead, BufReader, Write},
    net::SocketAddr,
    path::{Path, PathBuf},
    process::{Command, Stdio},
    sync::Arc,
    task::{Context, Poll},
};

use bytes::Bytes;
use futures::{FutureExt, StreamExt, TryStreamExt, future::BoxFuture, stream::BoxStream};
use obvert_proto::{
    design::v1::{CheckWallsRequest, CheckWallsResponse},
    installation::v1::{ImportCureLogRequest, import_cure_log_request::Part},
};
use prost::Message;
use tempfile::TempDir;
use tonic::{
    Request, Response, Status, Streaming,
    body::Body,
    codegen::{Service, http},
    server::{Grpc, NamedService},
    transport::{Server, server::TcpIncoming},
};
use tonic_prost::ProstCodec;

use crate::{
    calls::{APPEND, COUNT, ECHO, PACKAGE, Payload, WALLS},
    group_file::GroupFile,
    packages,
};

/// First word of the command line that makes this program the bare server.
pub(crate) const ROLE: &str = "bare-server";

/// File of the answer that the stream of walls gives.
const ANSWER: &str = "answer";

/// The running bare server; killed when dropped.
pub(crate) struct Child {
    process: std::process::Child,
    pub(crate) address: SocketAddr,
    folder: TempDir,
}

impl Child {
    pub(crate) fn start() -> Self {
        let folder = TempDir::new().expect("a folder");
        let program = std::env::current_exe().expect("this program has a path");
        let mut process = Command::new(program)
            .arg(ROLE)
            .arg(folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the bare server starts");
        let mut address = String::new();
        let out = process.stdout.take().expect("its output is read");
        BufReader::new(out)
            .read_line(&mut address)
            .expect("it prints its address");
        let address = address.trim().parse().expect("an address");
        Self {
            process,
            address,
            folder,
        }
    }
}

impl Child {
    /// Keeps the answer that the stream of walls gives.
    pub(crate) fn keep_answer(&self, answer: &[u8]) {
        std::fs::write(self.folder.path().join(ANSWER), answer).expect("the answer is kept");
    }
}

impl Drop for Child {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Serves until killed.
pub(crate) async fn serve(folder: &Path) {
    let incoming = TcpIncoming::bind(([127, 0, 0, 1], 0).into()).expect("a port");
    let address = incoming.local_addr().expect("an address");
    let _ = writeln!(std::io::stdout(), "{address}");
    let bare = Bare {
        file: GroupFile::create(&folder.join("appended")),
        package: Arc::new(packages::Bare::new().await),
        answer: folder.join(ANSWER),
    };
    let server = Server::builder().add_service(bare);
    let served = server
        .serve_with_incoming(incoming.with_nodelay(Some(true)))
        .await;
    served.expect("it serves");
}

/// A service without a schema: each path does one thing.
#[derive(Clone)]
struct Bare {
    file: GroupFile,
    package: Arc<packages::Bare>,
    answer: PathBuf,
}

impl NamedService for Bare {
    const NAME: &'static str = "bare.Bare";
}

impl Service<http::Request<Body>> for Bare {
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = BoxFuture<'static, Result<Self::Response, Infallible>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        let (file, package) = (self.file.clone(), Arc::clone(&self.package));
        let answer = self.answer.clone();
        async move {
            let payload = ProstCodec::<Payload, Payload>::default();
            Ok(match request.uri().path() {
                ECHO => Grpc::new(payload).unary(Echo, request).await,
                PACKAGE => Grpc::new(payload).unary(Made(package), request).await,
                WALLS => {
                    let kept = std::fs::read(answer).expect("an answer is kept");
                    let kept = CheckWallsResponse::decode(kept.as_slice()).expect("an answer");
                    let codec = ProstCodec::<CheckWallsResponse, CheckWallsRequest>::default();
                    Grpc::new(codec).streaming(Walls(kept), request).await
                }
                APPEND => Grpc::new(payload).unary(Append(file), request).await,
                COUNT => {
                    let codec = ProstCodec::<Payload, ImportCureLogRequest>::default();
                    let codec = Grpc::new(codec).apply_max_message_size_config(Some(4 << 20), None);
                    let mut codec = codec;
                    codec.client_streaming(Count, request).await
                }
                _ => Status::unimplemented("no such call").into_http(),
            })
        }
        .boxed()
    }
}

fn answer(bytes: u32) -> Response<Payload> {
    static FULL: [u8; 64 << 10] = [0x5a; 64 << 10];
    let data = Bytes::from_static(&FULL[..bytes as usize]);
    Response::new(Payload {
        data,
        ..Payload::default()
    })
}

macro_rules! service {
    ($name:ty, $request:ty, $self:ident, $given:ident, $answer:expr) => {
        impl Service<Request<$request>> for $name {
            type Response = Response<Payload>;
            type Error = Status;
            type Future = BoxFuture<'static, Result<Response<Payload>, Status>>;

            fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Status>> {
                Poll::Ready(Ok(()))
            }

            fn call(&mut $self, request: Request<$request>) -> Self::Future {
                let $given = request.into_inner();
                $answer.boxed()
            }
        }
    };
}

struct Echo;
service!(Echo, Payload, self, given, async move {
    Ok(answer(given.answer_bytes))
});

struct Append(GroupFile);
service!(Append, Payload, self, given, {
    let file = self.0.clone();
    async move {
        file.append(given.stored_bytes as usize).await;
        Ok(answer(given.answer_bytes))
    }
});

struct Made(Arc<packages::Bare>);
service!(Made, Payload, self, _given, {
    let package = Arc::clone(&self.0);
    async move {
        let digest = tokio::task::spawn_blocking(move || package.make()).await;
        Ok(answer(digest.expect("it is made").len() as u32))
    }
});

struct Count;
service!(
    Count,
    Streaming<ImportCureLogRequest>,
    self,
    given,
    async move {
        let mut given = given;
        let mut counted = 0;
        while let Some(ImportCureLogRequest { part }) = given.message().await? {
            counted += match part {
                Some(Part::Columns(columns)) => columns.time_ms.len(),
                Some(Part::Data(data)) => data.len(),
                _ => 0,
            };
        }
        Ok(answer(u32::from(counted > 0)))
    }
);

struct Walls(CheckWallsResponse);

impl Service<Request<Streaming<CheckWallsRequest>>> for Walls {
    type Response = Response<BoxStream<'static, Result<CheckWallsResponse, Status>>>;
    type Error = Status;
    type Future = BoxFuture<'static, Result<Self::Response, Status>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Status>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: Request<Streaming<CheckWallsRequest>>) -> Self::Future {
        let kept = self.0.clone();
        let answers = request.into_inner().map_ok(move |row| CheckWallsResponse {
            row_number: row.row_number,
            outcome: kept.outcome.clone(),
        });
        async move { Ok(Response::new(answers.boxed())) }.boxed()
    }
}
