//! A request body that ends with an error when its sender falls silent.

use std::{
    pin::Pin,
    task::{Context, Poll},
    time::Duration,
};

use axum::body::Body;
use bytes::Bytes;
use futures::FutureExt;
use http_body::Frame;
use tokio::time::{Instant, Sleep, sleep};

/// Body with a limit on the time between two frames.
pub(crate) struct IdleBody {
    body: Body,
    limit: Duration,
    silence: Pin<Box<Sleep>>,
}

impl IdleBody {
    pub(crate) fn new(body: Body, limit: Duration) -> Self {
        Self {
            body,
            limit,
            silence: Box::pin(sleep(limit)),
        }
    }
}

impl http_body::Body for IdleBody {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        if let Poll::Ready(frame) = Pin::new(&mut self.body).poll_frame(context) {
            let next = Instant::now() + self.limit;
            self.silence.as_mut().reset(next);
            return Poll::Ready(frame);
        }
        if self.silence.poll_unpin(context).is_ready() {
            let text = format!(
                "nothing came for {} s: the stream was given up",
                self.limit.as_secs()
            );
            return Poll::Ready(Some(Err(axum::Error::new(std::io::Error::other(text)))));
        }
        Poll::Pending
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        self.body.size_hint()
    }
}
