//! The accept loop: HTTP/1.1 and HTTP/2 on one port, limits on each connection, an orderly end.

use std::{sync::Arc, time::Duration};

use axum::{Extension, Router, body::Body, extract::Request};
use hyper::body::Incoming;
use hyper_util::{
    rt::{TokioExecutor, TokioIo, TokioTimer},
    server::{conn::auto::Builder, graceful::GracefulShutdown},
    service::TowerToHyperService,
};
use obvert_access::Peer;
use tokio::{net::TcpListener, net::TcpStream, sync::Semaphore, sync::watch};
use tower::ServiceExt;

use crate::Limits;

/// Pause after a failed accept, so that a lack of file handles does not spin.
const ACCEPT_PAUSE: Duration = Duration::from_millis(50);

/// Serves connections until `stop` turns true, then waits for calls to end, no longer than the limit.
pub(crate) async fn accept(
    listener: TcpListener,
    router: Router,
    limits: Limits,
    mut stop: watch::Receiver<bool>,
) {
    let builder = Arc::new(builder(limits));
    let graceful = GracefulShutdown::new();
    let room = Arc::new(Semaphore::new(limits.connections));
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            _ = stop.wait_for(|stop| *stop) => break,
        };
        let Ok((stream, peer)) = accepted else {
            tokio::time::sleep(ACCEPT_PAUSE).await;
            continue;
        };
        // A connection beyond the limit is closed at once: its client sees that and tries again.
        let Ok(place) = Arc::clone(&room).try_acquire_owned() else {
            continue;
        };
        let router = router.clone();
        let (builder, watcher) = (Arc::clone(&builder), graceful.watcher());
        tokio::spawn(async move {
            let _place = place;
            let router = router.layer(Extension(Peer(peer.ip())));
            serve_one(stream, router, &builder, watcher, limits).await;
        });
    }
    drop(listener);
    let most = Duration::from_secs(limits.shutdown_s);
    if tokio::time::timeout(most, graceful.shutdown())
        .await
        .is_err()
    {
        tracing::warn!(
            seconds = limits.shutdown_s,
            "calls did not end in time and were cut off"
        );
    }
}

async fn serve_one(
    stream: TcpStream,
    router: Router,
    builder: &Builder<TokioExecutor>,
    watcher: hyper_util::server::graceful::Watcher,
    limits: Limits,
) {
    let _ = stream.set_nodelay(true);
    let service = router.map_request(|request: Request<Incoming>| request.map(Body::new));
    let service = TowerToHyperService::new(service);
    let connection = builder
        .serve_connection(TokioIo::new(stream), service)
        .into_owned();
    let connection = watcher.watch(connection);
    let age = Duration::from_secs(limits.connection_age_s);
    if let Ok(Err(error)) = tokio::time::timeout(age, connection).await {
        tracing::debug!(%error, "a connection ended");
    }
}

fn builder(limits: Limits) -> Builder<TokioExecutor> {
    let mut builder = Builder::new(TokioExecutor::new());
    builder
        .http1()
        .timer(TokioTimer::new())
        .header_read_timeout(Duration::from_secs(10))
        .max_buf_size(limits.header_list_bytes.max(8 << 10) as usize);
    builder
        .http2()
        .timer(TokioTimer::new())
        .max_concurrent_streams(limits.streams_per_connection)
        .max_header_list_size(limits.header_list_bytes)
        .keep_alive_interval(Duration::from_secs(limits.keepalive_interval_s))
        .keep_alive_timeout(Duration::from_secs(limits.keepalive_timeout_s));
    builder
}
