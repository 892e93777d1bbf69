//! A stream that tells whether its client has spoken.

use std::{
    io,
    pin::Pin,
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    task::{Context, Poll},
};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};

/// Bytes after which it is known what a client speaks: the preface of HTTP/2, or a short request.
const ENOUGH: u64 = 24;

/// Stream that counts what comes in.
pub(crate) struct Listening<S> {
    stream: S,
    heard: Heard,
}

/// What has come in so far.
#[derive(Clone, Default)]
pub(crate) struct Heard(Arc<AtomicU64>);

impl Heard {
    /// Whether the client has said enough to be answered.
    pub(crate) fn enough(&self) -> bool {
        self.0.load(Ordering::Relaxed) >= ENOUGH
    }
}

impl<S> Listening<S> {
    pub(crate) fn new(stream: S, heard: Heard) -> Self {
        Self { stream, heard }
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Listening<S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.stream).poll_read(context, buffer);
        let came = buffer.filled().len() - before;
        self.heard.0.fetch_add(came as u64, Ordering::Relaxed);
        read
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Listening<S> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write(context, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        parts: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write_vectored(context, parts)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}
