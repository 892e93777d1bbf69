//! TLS: certificate and key of the server, read again on SIGHUP.

use std::sync::Arc;

use tokio::{
    signal::unix::{SignalKind, signal},
    sync::watch,
};
use tokio_rustls::{
    TlsAcceptor,
    rustls::{
        ServerConfig,
        crypto::aws_lc_rs,
        pki_types::{CertificateDer, PrivateKeyDer, pem::PemObject},
    },
};

use crate::{Ended, Exit, config::TlsFiles};

/// What a client may choose to speak: gRPC needs the first, curl and old browsers take the second.
const PROTOCOLS: [&[u8]; 2] = [b"h2", b"http/1.1"];
/// What to do without a key.
const HOW_TO_MAKE: &str = "write the certificate's private key there";

/// The acceptor in force; a new one takes its place when the files are read again.
pub(crate) type Acceptor = watch::Receiver<TlsAcceptor>;

/// Reads the files, and again whenever SIGHUP comes. Bad files on SIGHUP change nothing.
pub(crate) fn acceptor(files: TlsFiles) -> Result<Acceptor, Ended> {
    let (sender, receiver) = watch::channel(read(&files)?);
    let hangups = signal(SignalKind::hangup());
    let mut hangups = hangups.map_err(|e| Ended::new(Exit::Failure, format!("SIGHUP: {e}")))?;
    tokio::spawn(async move {
        while hangups.recv().await.is_some() {
            match read(&files) {
                Ok(acceptor) => {
                    sender.send_replace(acceptor);
                    tracing::info!("certificate and key were read again");
                }
                Err(ended) => tracing::error!(
                    error = ended.message,
                    "certificate and key stay as they were"
                ),
            }
        }
    });
    Ok(receiver)
}

fn read(files: &TlsFiles) -> Result<TlsAcceptor, Ended> {
    let shown = files.certificate.display();
    let bad =
        |what: String| Ended::new(Exit::BadConfig, format!("tls.certificate {shown}: {what}"));
    let chain = CertificateDer::pem_file_iter(&files.certificate)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(|error| bad(error.to_string()))?;
    if chain.is_empty() {
        return Err(bad("holds no certificate in PEM".to_owned()));
    }
    let pem = files.key.read(HOW_TO_MAKE)?;
    let key = PrivateKeyDer::from_pem_slice(&pem).map_err(|error| files.key.bad(error))?;
    let provider = Arc::new(aws_lc_rs::default_provider());
    let config =
        ServerConfig::builder_with_provider(provider).with_safe_default_protocol_versions();
    let config = config
        .map_err(|error| bad(error.to_string()))?
        .with_no_client_auth();
    let config = config.with_single_cert(chain, key);
    let mut config = config.map_err(|error| bad(format!("with its key: {error}")))?;
    config.alpn_protocols = PROTOCOLS.map(<[u8]>::to_vec).into();
    Ok(TlsAcceptor::from(Arc::new(config)))
}
