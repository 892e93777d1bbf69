//! A plug-in that misbehaves as it is told: `obvert-bad-plugin NAME HOW SOCKET`.
//!
//! The tests run it as a process of its own, so that what a server meets is a program that really
//! hangs, dies or lies.

#[path = "../fake.rs"]
#[allow(dead_code)]
mod fake;
mod raw;

use std::convert::Infallible;

use obvert_proto::{
    common::v1::RecordRef,
    plugin::v1::{EvaluateRequest, EvaluateResponse},
};
use tokio::{
    io::AsyncWriteExt,
    net::{UnixListener, UnixStream},
};
use tokio_stream::wrappers::UnixListenerStream;
use tonic::{
    Status,
    body::Body,
    codegen::{Service, http},
    server::NamedService,
    transport::Server,
};

use fake::{Fake, held, released};
use raw::{Raw, Wrong};

#[tokio::main]
async fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [name, how, socket] = &words[..] else {
        panic!("usage: obvert-bad-plugin NAME HOW SOCKET");
    };
    // A process that was killed leaves its socket behind.
    let _ = std::fs::remove_file(socket);
    let listener = UnixListener::bind(socket).expect("the socket is free");
    match how.as_str() {
        "silent" => silent(listener).await,
        "babbling" => babbling(listener).await,
        "other-schema" => serve(listener, raw(name, Wrong::Schema)).await,
        "endless" => serve(listener, raw(name, Wrong::Endless)).await,
        "trickling" => serve(listener, raw(name, Wrong::Trickling)).await,
        how => serve(listener, fake(name, how).service()).await,
    }
}

async fn serve<S>(listener: UnixListener, service: S)
where
    S: Service<http::Request<Body>, Response = http::Response<Body>, Error = Infallible>
        + NamedService
        + Clone
        + Send
        + Sync
        + 'static,
    S::Future: Send,
{
    let server = Server::builder().add_service(service);
    let ended = server.serve_with_incoming(UnixListenerStream::new(listener));
    ended.await.expect("the socket is served");
}

fn raw(name: &str, wrong: Wrong) -> Raw {
    let name = name.to_owned();
    Raw { name, wrong }
}

/// An evaluator that keeps to the form of a call, and not to what the contract asks. `honest@2.0.0`
/// is an honest one of that version.
fn fake(name: &str, how: &str) -> Fake {
    let (how, version) = how.split_once('@').unwrap_or((how, "1.0.0"));
    let mut fake = behaving(name, how);
    fake.description.version = version.to_owned();
    fake
}

fn behaving(name: &str, how: &str) -> Fake {
    match how {
        "honest" => Fake::releasing(name),
        "holding" => Fake::new(name, |request| {
            Ok(held(&request, "yard-open", "the yard gate stood open"))
        }),
        "hanging" => Fake::waiting(name, |_| Box::pin(std::future::pending())),
        "crashing" => Fake::new(name, |_| std::process::abort()),
        "failing" => Fake::new(name, |_| Err(Status::internal("out of ideas\u{7}"))),
        "long" => Fake::new(name, |request| {
            Ok(held(&request, "long", &"x".repeat(16 << 20)))
        }),
        "other-segment" => lying(name, |answer| answer.segment.push('x')),
        "other-evidence" => lying(name, |answer| answer.evidence_digest[0] ^= 1),
        "unknown-evidence" => lying(name, |answer| {
            answer.evidence.push(RecordRef {
                name: "projects/quillfern/documents/made-up".into(),
                revision: 1,
            });
        }),
        "other-contract" => {
            let mut fake = Fake::releasing(name);
            fake.description.contract_revision = 2;
            fake
        }
        other => panic!("{other} is no way to misbehave"),
    }
}

/// One that changes a right answer.
fn lying(name: &str, change: fn(&mut EvaluateResponse)) -> Fake {
    Fake::new(name, move |request: EvaluateRequest| {
        let mut answer = released(request);
        change(&mut answer);
        Ok(answer)
    })
}

/// Takes each connection and never says a word.
async fn silent(listener: UnixListener) {
    let mut kept: Vec<UnixStream> = Vec::new();
    while let Ok((stream, _)) = listener.accept().await {
        kept.push(stream);
    }
}

/// Sends bytes without end that are no HTTP/2.
async fn babbling(listener: UnixListener) {
    while let Ok((mut stream, _)) = listener.accept().await {
        tokio::spawn(async move { while stream.write_all(&[0x5a; 4_096]).await.is_ok() {} });
    }
}
