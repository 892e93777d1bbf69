//! A certificate of a server's own, for tests of TLS.

use std::{fs, os::unix::fs::PermissionsExt, path::Path};

use tempfile::TempDir;
use tonic::transport::{Certificate, ClientTlsConfig, Endpoint};

use super::support::{Server, prepared, write_config};

/// Folder of a server that speaks TLS with a certificate of its own.
pub(crate) fn encrypted(limits: &str) -> TempDir {
    let folder = prepared("");
    certify(folder.path());
    let at = folder.path().display();
    let tls = format!("[tls]\ncertificate = \"{at}/tls.pem\"\nkey = \"{at}/tls.key\"\n{limits}");
    write_config(folder.path(), "127.0.0.1:0", &tls);
    folder
}

/// Writes a new certificate and its key.
pub(crate) fn certify(folder: &Path) {
    let made = rcgen::generate_simple_self_signed(vec!["127.0.0.1".into()]).unwrap();
    fs::write(folder.join("tls.pem"), made.cert.pem()).unwrap();
    let key = folder.join("tls.key");
    fs::write(&key, made.signing_key.serialize_pem()).unwrap();
    fs::set_permissions(key, fs::Permissions::from_mode(0o600)).unwrap();
}

/// Where a client connects that believes the certificate in the server's folder.
pub(crate) fn secure_endpoint(server: &Server) -> Endpoint {
    let pem = fs::read(server.folder.path().join("tls.pem")).unwrap();
    let trusted = ClientTlsConfig::new().ca_certificate(Certificate::from_pem(pem));
    let endpoint = Endpoint::from_shared(format!("https://{}", server.address)).unwrap();
    endpoint.tls_config(trusted).unwrap().tcp_nodelay(true)
}
