//! A real obvertd in a folder of its own.

use std::{
    fs::{self, Permissions},
    io::{Read, Write},
    net::{SocketAddr, TcpStream},
    os::unix::fs::PermissionsExt,
    path::{Path, PathBuf},
    process::{Child, Command, ExitStatus},
    time::{Duration, Instant},
};

use tempfile::TempDir;
use tonic::{
    Request, Status,
    metadata::{Ascii, MetadataValue},
    service::interceptor::InterceptedService,
    transport::{Channel, Endpoint},
};

/// Longest wait for anything that must happen at some time.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

/// A program of this workspace, built beside the tests.
pub(crate) fn program(name: &str) -> PathBuf {
    let tests = std::env::current_exe().expect("the test binary has a path");
    let folder = tests
        .parent()
        .and_then(Path::parent)
        .expect("target/release/deps is two deep");
    let path = folder.join(name);
    assert!(
        path.exists(),
        "{} is not built: cargo build --release --workspace",
        path.display()
    );
    path
}

/// A running server; killed when dropped.
pub(crate) struct Server {
    child: Child,
    pub(crate) address: SocketAddr,
    pub(crate) folder: TempDir,
}

/// Folder with a config and a signing key.
pub(crate) fn prepared(limits: &str) -> TempDir {
    prepared_in(TempDir::new().expect("a folder"), limits)
}

/// Puts a config and a signing key into a folder.
pub(crate) fn prepared_in(folder: TempDir, limits: &str) -> TempDir {
    write_config(folder.path(), "127.0.0.1:0", limits);
    let made = obvertd(folder.path(), &["key", "new"]);
    assert!(made.success());
    folder
}

/// Writes the config of a server in a folder.
pub(crate) fn write_config(folder: &Path, listen: &str, rest: &str) {
    let at = folder.display();
    let text = format!(
        "listen = \"{listen}\"\naddress_file = \"{at}/address\"\nstore = \"{at}/store\"\n\
         signing_key = \"{at}/signing.pem\"\n{rest}\n"
    );
    fs::write(folder.join("server.toml"), text).expect("the config is written");
}

/// Runs obvertd to its end with the folder's config.
pub(crate) fn obvertd(folder: &Path, words: &[&str]) -> ExitStatus {
    output(folder, words).0
}

/// Runs obvertd to its end; its exit and what it printed on standard error.
pub(crate) fn output(folder: &Path, words: &[&str]) -> (ExitStatus, String) {
    let named = words.first() == Some(&"config");
    let ended = Command::new(program("obvertd"))
        .args(words)
        .args((!named).then_some("--config"))
        .arg(folder.join("server.toml"))
        .output()
        .expect("obvertd runs");
    (
        ended.status,
        String::from_utf8_lossy(&ended.stderr).into_owned(),
    )
}

impl Server {
    /// Starts a server with some limits set.
    pub(crate) fn start(limits: &str) -> Self {
        Self::start_in(prepared(limits))
    }

    /// Starts a server in a prepared folder.
    pub(crate) fn start_in(folder: TempDir) -> Self {
        Self::start_told(folder, "info")
    }

    /// Starts a server that logs from a level on, into `stderr.log` of its folder.
    pub(crate) fn start_told(folder: TempDir, level: &str) -> Self {
        Self::start_under(folder, level, |_| {})
    }

    /// Starts a server in an environment that `change` makes for it.
    pub(crate) fn start_under(
        folder: TempDir,
        level: &str,
        change: impl FnOnce(&mut Command),
    ) -> Self {
        let log = fs::File::create(folder.path().join("stderr.log")).expect("a log");
        let mut command = Command::new(program("obvertd"));
        command
            .args(["serve", "--config"])
            .arg(folder.path().join("server.toml"))
            .env("OBVERT_LOG", level)
            .stderr(log);
        change(&mut command);
        let child = command.spawn().expect("obvertd starts");
        let file = folder.path().join("address");
        let begun = Instant::now();
        let address = loop {
            if let Ok(text) = fs::read_to_string(&file) {
                break text.trim().parse().expect("an address");
            }
            assert!(begun.elapsed() < PATIENCE, "the server does not answer");
            std::thread::sleep(Duration::from_millis(20));
        };
        Self {
            child,
            address,
            folder,
        }
    }

    /// Secret of the first key.
    pub(crate) fn key(&self) -> String {
        let file = self.folder.path().join("store/bootstrap.key");
        fs::read_to_string(file)
            .expect("the first key")
            .trim()
            .to_owned()
    }

    /// Writes the first key into `office.key` of the folder, for its owner only.
    pub(crate) fn write_office_key(&self) {
        let file = self.folder.path().join("office.key");
        fs::write(&file, self.key()).expect("the key is written");
        fs::set_permissions(&file, Permissions::from_mode(0o600)).expect("only its owner reads it");
    }

    /// Channel without a key.
    pub(crate) async fn channel(&self) -> Channel {
        let endpoint =
            Endpoint::from_shared(format!("http://{}", self.address)).expect("an address");
        endpoint.connect().await.expect("the server answers")
    }

    /// Channel with the first key.
    pub(crate) async fn keyed(
        &self,
    ) -> InterceptedService<
        Channel,
        impl FnMut(Request<()>) -> Result<Request<()>, Status> + Clone + use<>,
    > {
        let bearer: MetadataValue<Ascii> = format!("Bearer {}", self.key()).parse().expect("a key");
        InterceptedService::new(self.channel().await, move |mut request: Request<()>| {
            request
                .metadata_mut()
                .insert("authorization", bearer.clone());
            Ok(request)
        })
    }

    /// What the server sends to a client that begins HTTP/2 and then says nothing, until it ends it.
    pub(crate) fn silent_http2(&self) -> Vec<u8> {
        let mut stream = TcpStream::connect(self.address).expect("taken");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        // Preface of HTTP/2, then an empty SETTINGS frame, then silence.
        stream
            .write_all(b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\x04\0\0\0\0\0")
            .expect("sent");
        let mut answer = Vec::new();
        stream
            .read_to_end(&mut answer)
            .expect("closed by the server, not by our patience");
        answer
    }

    /// Sends one HTTP/1.1 request and reads the whole answer.
    pub(crate) fn http(&self, head: &str, body: &str) -> String {
        let mut stream = TcpStream::connect(self.address).expect("the server answers");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        let length = body.len();
        let request = format!(
            "{head}\r\nhost: {}\r\ncontent-length: {length}\r\nconnection: close\r\n\r\n{body}",
            self.address
        );
        stream.write_all(request.as_bytes()).expect("sent");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).expect("an answer");
        String::from_utf8_lossy(&answer).into_owned()
    }

    /// Stops the server in order and starts it again in the same folder.
    pub(crate) fn restarted(mut self) -> Self {
        self.terminate();
        assert!(self.ended().success());
        fs::remove_file(self.folder.path().join("address")).expect("an old address");
        let folder = std::mem::replace(&mut self.folder, TempDir::new().expect("a folder"));
        Self::start_in(folder)
    }

    /// Asks the server to stop.
    pub(crate) fn terminate(&self) {
        self.signal("TERM");
    }

    /// Sends a signal.
    pub(crate) fn signal(&self, name: &str) {
        let sent = Command::new("kill")
            .arg(format!("-{name}"))
            .arg(self.child.id().to_string())
            .status();
        assert!(sent.expect("kill runs").success());
    }

    /// Exit of the server once it ends by itself.
    pub(crate) fn ended(&mut self) -> ExitStatus {
        let begun = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("a child") {
                return status;
            }
            assert!(begun.elapsed() < PATIENCE, "the server does not end");
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
