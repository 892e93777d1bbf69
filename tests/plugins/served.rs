//! A plug-in of a test, served over a unix socket.

use std::{path::PathBuf, time::Duration};

use obvert_plugins::{Address, Kind, Plugin, Registration};
use tempfile::TempDir;
use tokio::{net::UnixListener, task::JoinHandle};
use tokio_stream::wrappers::UnixListenerStream;
use tonic::transport::server::Router;

use super::fake::Fake;

/// A socket that is served until it is dropped.
pub(super) struct Served {
    folder: TempDir,
    task: JoinHandle<()>,
}

impl Fake {
    pub(super) fn serve(&self) -> Served {
        Served::of(tonic::transport::Server::builder().add_service(self.service()))
    }
}

impl Served {
    pub(super) fn of(router: Router) -> Self {
        Self::listening(|listener| async move {
            let _ = router
                .serve_with_incoming(UnixListenerStream::new(listener))
                .await;
        })
    }

    pub(super) fn listening<F: Future<Output = ()> + Send + 'static>(
        serve: impl FnOnce(UnixListener) -> F,
    ) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let listener = UnixListener::bind(folder.path().join("s")).unwrap();
        let task = tokio::spawn(serve(listener));
        Self { folder, task }
    }

    pub(super) fn path(&self) -> PathBuf {
        self.folder.path().join("s")
    }

    /// The plug-in as a server knows it, with a short deadline and small answers.
    pub(super) fn plugin(&self, id: &str, kind: Kind) -> Plugin {
        Plugin::new(registration(id, kind, self.path())).unwrap()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.task.abort();
    }
}

pub(super) fn registration(id: &str, kind: Kind, path: PathBuf) -> Registration {
    Registration {
        id: id.into(),
        kinds: vec![kind],
        address: Address::Unix(path),
        ca_file: None,
        deadline: Duration::from_millis(700),
        request_bytes: 8 << 20,
        answer_bytes: 64 << 10,
        calls: 2,
        projects: Vec::new(),
    }
}
