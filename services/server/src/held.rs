//! An answer that keeps its place among the open streams until its last byte has left.

use std::{
    pin::Pin,
    task::{Context, Poll},
};

use axum::{body::Body, response::Response};
use bytes::Bytes;
use http_body::Frame;
use tokio::sync::OwnedSemaphorePermit;

/// Gives a response its place; it is free again when the response has been sent or was given up.
pub(crate) fn hold(response: Response, place: OwnedSemaphorePermit) -> Response {
    response.map(|body| {
        Body::new(HeldBody {
            body,
            _place: place,
        })
    })
}

struct HeldBody {
    body: Body,
    _place: OwnedSemaphorePermit,
}

impl http_body::Body for HeldBody {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        Pin::new(&mut self.body).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> http_body::SizeHint {
        self.body.size_hint()
    }
}
