//! TLS: both protocols on one port, the handshake's limit, and a certificate that is changed.

use std::{
    fs,
    io::{self, Read},
    net::TcpStream,
    os::unix::fs::PermissionsExt,
    path::Path,
    process::Command,
    sync::Arc,
    time::Duration,
};

use tempfile::TempDir;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio_rustls::{
    TlsConnector,
    client::TlsStream,
    rustls::{
        ClientConfig, RootCertStore,
        pki_types::{CertificateDer, ServerName, pem::PemObject},
    },
};

use super::{
    certificate::{certify, encrypted},
    support::{PATIENCE, Server, output, program},
};

/// Connects, believing the certificate that lies in the server's folder, and agrees on one of the
/// protocols.
async fn connected(
    server: &Server,
    protocols: &[&str],
) -> io::Result<TlsStream<tokio::net::TcpStream>> {
    let mut roots = RootCertStore::empty();
    let pem = server.folder.path().join("tls.pem");
    roots
        .add(CertificateDer::from_pem_file(pem).unwrap())
        .unwrap();
    let mut config = ClientConfig::builder()
        .with_root_certificates(roots)
        .with_no_client_auth();
    config.alpn_protocols = protocols.iter().map(|p| p.as_bytes().to_vec()).collect();
    let stream = tokio::net::TcpStream::connect(server.address)
        .await
        .unwrap();
    let name = ServerName::try_from("127.0.0.1").unwrap();
    TlsConnector::from(Arc::new(config))
        .connect(name, stream)
        .await
}

/// Lists projects through the command line; its exit code and what it printed on standard error.
fn list(server: &Server, scheme: &str, ca_file: &Path) -> (Option<i32>, String) {
    let key = server.folder.path().join("store/bootstrap.key");
    let ended = Command::new(program("obvert"))
        .args(["project", "list", "--server"])
        .arg(format!("{scheme}://{}", server.address))
        .arg("--key-file")
        .arg(key)
        .arg("--ca-file")
        .arg(ca_file)
        .output()
        .unwrap();
    (
        ended.status.code(),
        String::from_utf8_lossy(&ended.stderr).into_owned(),
    )
}

#[test]
fn the_command_line_calls_over_tls_and_believes_only_the_named_certificate() {
    let server = Server::start_in(encrypted(""));
    let own = server.folder.path().join("tls.pem");
    assert_eq!(list(&server, "https", &own), (Some(0), String::new()));
    let other = TempDir::new().unwrap();
    certify(other.path());
    let (code, told) = list(&server, "https", &other.path().join("tls.pem"));
    assert_eq!(code, Some(7), "{told}");
    assert_ne!(
        list(&server, "http", &own).0,
        Some(0),
        "plain text is not answered"
    );
}

#[tokio::test]
async fn a_page_is_served_by_http_1_1_and_calls_by_h2_on_the_same_port() {
    let server = Server::start_in(encrypted(""));
    let both = connected(&server, &["h2", "http/1.1"]).await.unwrap();
    assert_eq!(both.get_ref().1.alpn_protocol(), Some(&b"h2"[..]));
    let mut page = connected(&server, &["http/1.1"]).await.unwrap();
    assert_eq!(page.get_ref().1.alpn_protocol(), Some(&b"http/1.1"[..]));
    let request = format!(
        "GET /sign-in HTTP/1.1\r\nhost: {}\r\nconnection: close\r\n\r\n",
        server.address
    );
    page.write_all(request.as_bytes()).await.unwrap();
    let mut answer = String::new();
    // The server closes without a farewell of TLS when the client asked for the close.
    let _ = page.read_to_string(&mut answer).await;
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}

#[test]
fn a_client_that_shakes_no_hand_is_let_go() {
    let server = Server::start_in(encrypted("[limits]\ntls_handshake_s = 1"));
    let mut silent = TcpStream::connect(server.address).unwrap();
    silent.set_read_timeout(Some(PATIENCE)).unwrap();
    assert_eq!(silent.read(&mut [0; 16]).unwrap(), 0, "the server closes");
}

#[tokio::test]
async fn a_new_certificate_is_served_after_a_hangup_and_a_broken_one_changes_nothing() {
    let server = Server::start_in(encrypted(""));
    let folder = server.folder.path();
    let served = async || connected(&server, &["h2"]).await.is_ok();
    assert!(served().await);
    let before = fs::read(folder.join("tls.pem")).unwrap();
    fs::write(folder.join("tls.pem"), "no certificate").unwrap();
    server.signal("HUP");
    tokio::time::sleep(Duration::from_millis(200)).await;
    fs::write(folder.join("tls.pem"), &before).unwrap();
    assert!(served().await, "the old one is still served");
    certify(folder);
    assert!(!served().await, "the new one is not served yet");
    server.signal("HUP");
    let changed = async {
        while !served().await {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    tokio::time::timeout(PATIENCE, changed).await.unwrap();
}

#[test]
fn a_key_that_others_can_read_or_that_fits_no_certificate_is_refused() {
    let folder = encrypted("");
    let key = folder.path().join("tls.key");
    fs::set_permissions(&key, fs::Permissions::from_mode(0o640)).unwrap();
    let (status, told) = output(folder.path(), &["serve"]);
    assert_eq!(status.code(), Some(64));
    assert!(
        told.contains("tls.key") && told.contains("chmod 600"),
        "{told}"
    );
    let own = fs::read(folder.path().join("tls.pem")).unwrap();
    certify(folder.path());
    fs::write(folder.path().join("tls.pem"), own).unwrap();
    let (status, told) = output(folder.path(), &["serve"]);
    assert_eq!(status.code(), Some(64));
    assert!(told.contains("tls.certificate"), "{told}");
}
