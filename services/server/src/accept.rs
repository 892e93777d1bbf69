//! The accept loop: HTTP/1.1 and HTTP/2 on one port, with or without TLS, limits on each connection,
//! an orderly end.

use std::{pin::pin, sync::Arc, time::Duration};

use axum::{Extension, Router, body::Body, extract::Request};
use hyper::body::Incoming;
use hyper_util::{
    rt::{TokioExecutor, TokioIo, TokioTimer},
    server::conn::auto::Builder,
    service::TowerToHyperService,
};
use obvert_access::Peer;
use tokio::{
    io::{AsyncRead, AsyncWrite},
    net::{TcpListener, TcpStream},
    sync::{Semaphore, watch},
    time::{sleep, timeout},
};
use tower::ServiceExt;

use crate::{
    Limits,
    first_bytes::{Heard, Listening},
    tls::Acceptor,
};

/// Pause after a failed accept, so that a lack of file handles does not spin.
const ACCEPT_PAUSE: Duration = Duration::from_millis(50);

/// What every connection needs.
#[derive(Clone)]
struct Serving {
    router: Router,
    builder: Arc<Builder<TokioExecutor>>,
    tls: Option<Acceptor>,
    limits: Limits,
    stop: watch::Receiver<bool>,
}

/// Serves connections until `stop` turns true, then waits for calls to end, no longer than the limit.
pub(crate) async fn accept(
    listener: TcpListener,
    router: Router,
    tls: Option<Acceptor>,
    limits: Limits,
    mut stop: watch::Receiver<bool>,
) {
    let serving = Serving {
        router,
        builder: Arc::new(builder(limits)),
        tls,
        limits,
        stop: stop.clone(),
    };
    let most = limits.connections as u32;
    let room = Arc::new(Semaphore::new(most as usize));
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            _ = stop.wait_for(|stop| *stop) => break,
        };
        let Ok((stream, peer)) = accepted else {
            sleep(ACCEPT_PAUSE).await;
            continue;
        };
        // A connection beyond the limit is closed at once: its client sees that and tries again.
        let Ok(place) = Arc::clone(&room).try_acquire_owned() else {
            continue;
        };
        let serving = serving.clone();
        tokio::spawn(async move {
            let _place = place;
            serving.connection(stream, Peer(peer.ip())).await;
        });
    }
    drop(listener);
    // Each connection gives its place back when it ends, by itself or after the longest wait.
    let _ = room.acquire_many(most).await;
}

impl Serving {
    async fn connection(mut self, stream: TcpStream, peer: Peer) {
        self.router = self.router.layer(Extension(peer));
        let _ = stream.set_nodelay(true);
        let Some(tls) = &self.tls else {
            return self.serve(stream).await;
        };
        let acceptor = tls.borrow().clone();
        let longest = Duration::from_secs(self.limits.tls_handshake_s);
        let handshake = timeout(longest, acceptor.accept(stream));
        let shaken = tokio::select! {
            shaken = handshake => shaken,
            _ = self.stop.wait_for(|stop| *stop) => return,
        };
        match shaken {
            Ok(Ok(stream)) => self.serve(stream).await,
            Ok(Err(error)) => tracing::debug!(%error, "a TLS handshake failed"),
            Err(_) => tracing::debug!("a TLS handshake took too long"),
        }
    }

    /// Serves one connection until its client leaves, it grows too old, or the server stops.
    async fn serve(mut self, stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static) {
        let router = self.router;
        let service = router.map_request(|request: Request<Incoming>| request.map(Body::new));
        let service = TowerToHyperService::new(service);
        let heard = Heard::default();
        let stream = TokioIo::new(Listening::new(stream, heard.clone()));
        let mut connection = pin!(self.builder.serve_connection(stream, service));
        let first = Duration::from_secs(self.limits.header_read_s);
        let age = Duration::from_secs(self.limits.connection_age_s);
        let silent = async {
            sleep(first).await;
            if heard.enough() {
                std::future::pending::<()>().await;
            }
        };
        tokio::select! {
            ended = connection.as_mut() => return told(ended),
            () = silent => return,
            () = sleep(age) => {}
            _ = self.stop.wait_for(|stop| *stop) => {}
        }
        connection.as_mut().graceful_shutdown();
        match timeout(Duration::from_secs(self.limits.shutdown_s), connection).await {
            Ok(ended) => told(ended),
            Err(_) => tracing::warn!(
                seconds = self.limits.shutdown_s,
                "calls did not end in time and were cut off"
            ),
        }
    }
}

fn told(ended: Result<(), Box<dyn std::error::Error + Send + Sync>>) {
    if let Err(error) = ended {
        tracing::debug!(%error, "a connection ended");
    }
}

fn builder(limits: Limits) -> Builder<TokioExecutor> {
    let mut builder = Builder::new(TokioExecutor::new());
    builder
        .http1()
        .timer(TokioTimer::new())
        .header_read_timeout(Duration::from_secs(limits.header_read_s))
        .max_buf_size(limits.header_list_bytes.max(8 << 10) as usize);
    builder
        .http2()
        .timer(TokioTimer::new())
        .max_concurrent_streams(limits.streams_per_connection as u32)
        .max_header_list_size(limits.header_list_bytes as u32)
        .keep_alive_interval(Duration::from_secs(limits.keepalive_interval_s))
        .keep_alive_timeout(Duration::from_secs(limits.keepalive_timeout_s));
    builder
}
