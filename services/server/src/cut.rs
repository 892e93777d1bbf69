//! Streams are cut when the key or link that opened them stops working.

use std::{
    pin::Pin,
    task::{Context, Poll},
    time::Duration,
};

use axum::{body::Body, response::Response};
use bytes::Bytes;
use futures::FutureExt;
use http_body::Frame;
use obvert_access::{Caller, Keys};
use obvert_project::Links;
use obvert_proto::Problem;
use obvert_records::now_ms;
use tokio::sync::watch;
use tonic::Status;

/// Least time between two looks at a key, so that a busy ledger does not make every stream look.
const LOOK: Duration = Duration::from_secs(1);

/// Resolves when what opened a stream stops working, with why.
pub(crate) type Ended = Pin<Box<dyn Future<Output = Problem> + Send>>;

/// How a stream tells its reader.
#[derive(Clone, Copy)]
pub(crate) enum Tell {
    /// By a gRPC status after the messages.
    Status,
    /// By breaking off before the length that was announced.
    Break,
}

/// Resolves when a caller's key is revoked or expires.
pub(crate) fn key_ended(keys: Keys, caller: &Caller) -> Ended {
    let (key_id, expire_time_ms) = (caller.key_id.clone(), caller.expire_time_ms);
    Box::pin(async move {
        let mut ticks = keys.ticks();
        loop {
            ticks.borrow_and_update();
            // A ledger that cannot be read tells nothing new about the key.
            let _ = keys.refresh().await;
            if let Err(problem) = keys.still(&key_id, now_ms()) {
                return problem;
            }
            until_next_look(&mut ticks, expire_time_ms).await;
        }
    })
}

/// Resolves when a link is revoked or expires.
pub(crate) fn link_ended(links: Links, text: String, mut ticks: watch::Receiver<u64>) -> Ended {
    Box::pin(async move {
        loop {
            ticks.borrow_and_update();
            let open = links.open(&text, now_ms()).await;
            let expire_time_ms = match open {
                Ok(Some(open)) => open
                    .link
                    .expire_time
                    .as_ref()
                    .map_or(0, obvert_proto::dates::unix_ms),
                Ok(None) => {
                    let reason = obvert_proto::common::v1::Reason::NotAuthenticated;
                    return Problem::new(reason, "the link has ended");
                }
                Err(_) => i64::MAX,
            };
            until_next_look(&mut ticks, expire_time_ms).await;
        }
    })
}

async fn until_next_look(ticks: &mut watch::Receiver<u64>, expire_time_ms: i64) {
    let left_ms = expire_time_ms.saturating_sub(now_ms()).max(0);
    let left = Duration::from_millis(left_ms.unsigned_abs()).min(Duration::from_secs(3_600));
    tokio::time::sleep(LOOK).await;
    tokio::select! {
        changed = ticks.changed() => if changed.is_err() { std::future::pending().await },
        () = tokio::time::sleep(left.saturating_sub(LOOK)) => {}
    }
}

/// A response that is cut when what opened it has ended.
pub(crate) fn cut(response: Response, ended: Ended, tell: Tell) -> Response {
    response.map(|body| {
        Body::new(CutBody {
            body,
            ended: Some(ended),
            tell,
        })
    })
}

struct CutBody {
    body: Body,
    /// None once the stream was cut.
    ended: Option<Ended>,
    tell: Tell,
}

impl http_body::Body for CutBody {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        let Some(ended) = &mut self.ended else {
            return Poll::Ready(None);
        };
        let Poll::Ready(problem) = ended.poll_unpin(context) else {
            return Pin::new(&mut self.body).poll_frame(context);
        };
        self.ended = None;
        match self.tell {
            Tell::Status => {
                let answer: axum::http::Response<Body> = Status::from(problem).into_http();
                let trailers = answer.headers().clone();
                Poll::Ready(Some(Ok(Frame::trailers(trailers))))
            }
            Tell::Break => {
                let error = std::io::Error::other(problem.message);
                Poll::Ready(Some(Err(axum::Error::new(error))))
            }
        }
    }

    fn is_end_stream(&self) -> bool {
        self.ended.is_none() || self.body.is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        self.body.size_hint()
    }
}
