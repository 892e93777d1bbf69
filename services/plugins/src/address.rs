//! Where a plug-in listens.

use std::{
    fmt,
    path::{Path, PathBuf},
};

use tokio_rustls::rustls::pki_types::{CertificateDer, pem::PemObject};
use tonic::transport::{Certificate, ClientTlsConfig, Endpoint};

/// A unix socket or a TCP port, plain or with TLS.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Address {
    /// Path of a unix socket, from the root.
    Unix(PathBuf),
    /// Host and port.
    Tcp {
        /// Name or address of the host.
        host: String,
        /// Port.
        port: u16,
    },
    /// Host and port, reached with TLS.
    Tls {
        /// Name or address of the host, as its certificate says it.
        host: String,
        /// Port.
        port: u16,
    },
}

impl Address {
    /// Reads `unix:/run/check.sock`, `/run/check.sock`, `localhost:7501` or
    /// `https://checks.example:7501`.
    ///
    /// # Errors
    ///
    /// A sentence that says what is wrong with it and what to write.
    pub fn parse(text: &str) -> Result<Self, String> {
        let path = text
            .strip_prefix("unix:")
            .or(text.starts_with('/').then_some(text));
        if let Some(path) = path {
            let path = path.strip_prefix("//").unwrap_or(path);
            if !path.starts_with('/') {
                return Err(format!(
                    "\"{text}\" is no path from the root: write unix:/run/check.sock"
                ));
            }
            return Ok(Self::Unix(PathBuf::from(path)));
        }
        let plain = text.strip_prefix("https://");
        let parts = plain
            .unwrap_or(text)
            .rsplit_once(':')
            .and_then(|(host, port)| {
                let port = port.parse().ok().filter(|port| *port > 0)?;
                let plain = |c: char| c.is_ascii_alphanumeric() || ".-:[]".contains(c);
                (!host.is_empty() && host.chars().all(plain)).then(|| (host.to_owned(), port))
            });
        let Some((host, port)) = parts else {
            return Err(format!(
                "\"{text}\" is neither a unix socket nor HOST:PORT: write unix:/run/check.sock, \
                 127.0.0.1:7501 or https://checks.example:7501"
            ));
        };
        match plain {
            Some(_) => Ok(Self::Tls { host, port }),
            None => Ok(Self::Tcp { host, port }),
        }
    }

    /// Whether nobody on the way can read what is sent there: it stays on this machine, or is
    /// encrypted.
    pub fn is_private(&self) -> bool {
        match self {
            Self::Unix(_) | Self::Tls { .. } => true,
            Self::Tcp { host, .. } => {
                let bare = host.trim_matches(['[', ']']);
                let ip = bare.parse::<std::net::IpAddr>();
                host == "localhost" || ip.is_ok_and(|ip| ip.is_loopback())
            }
        }
    }

    /// Where to connect to, trusting the certificates of a file and no others.
    ///
    /// # Errors
    ///
    /// A sentence when the file is missing, not wanted, or holds no certificates.
    pub fn endpoint(&self, ca_file: Option<&Path>) -> Result<Endpoint, String> {
        let text = match self {
            Self::Unix(path) => format!("unix:{}", path.display()),
            Self::Tcp { host, port } => format!("http://{host}:{port}"),
            Self::Tls { host, port } => format!("https://{host}:{port}"),
        };
        let endpoint = Endpoint::from_shared(text).map_err(|error| format!("{self}: {error}"))?;
        match (self, ca_file) {
            (Self::Tls { .. }, Some(file)) => {
                let trusted = ClientTlsConfig::new().ca_certificate(authority(file)?);
                let endpoint = endpoint.tls_config(trusted);
                endpoint.map_err(|error| format!("{}: {error}", file.display()))
            }
            (Self::Tls { .. }, None) => Err(format!(
                "{self} is reached with TLS and no ca_file is given: name the certificate of the \
                 authority that the plug-in's certificate is of"
            )),
            (_, Some(_)) => Err(format!(
                "{self} is reached without TLS, so no ca_file is used: write https://, or leave \
                 ca_file out"
            )),
            (_, None) => Ok(endpoint),
        }
    }
}

/// Certificates of an authority, as a PEM file holds them.
fn authority(file: &Path) -> Result<Certificate, String> {
    let shown = file.display();
    let pem = std::fs::read(file).map_err(|error| format!("ca_file {shown}: {error}"))?;
    let read = CertificateDer::pem_slice_iter(&pem).collect::<Result<Vec<_>, _>>();
    match read {
        Ok(certificates) if !certificates.is_empty() => Ok(Certificate::from_pem(pem)),
        Ok(_) => Err(format!("ca_file {shown} holds no certificate in PEM")),
        Err(error) => Err(format!("ca_file {shown}: {error}")),
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unix(path) => write!(f, "unix:{}", path.display()),
            Self::Tcp { host, port } => write!(f, "{host}:{port}"),
            Self::Tls { host, port } => write!(f, "https://{host}:{port}"),
        }
    }
}
