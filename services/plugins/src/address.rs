//! Where a plug-in listens.

use std::{fmt, path::PathBuf};

use tonic::transport::{Channel, Endpoint};

/// A unix socket or a TCP port.
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
}

impl Address {
    /// Reads `unix:/run/check.sock`, `/run/check.sock` or `localhost:7501`.
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
        let parts = text.rsplit_once(':').and_then(|(host, port)| {
            let port = port.parse().ok().filter(|port| *port > 0)?;
            let plain = |c: char| c.is_ascii_alphanumeric() || ".-:[]".contains(c);
            (!host.is_empty() && host.chars().all(plain)).then(|| (host.to_owned(), port))
        });
        let Some((host, port)) = parts else {
            return Err(format!(
                "\"{text}\" is neither a unix socket nor HOST:PORT: write unix:/run/check.sock or \
                 127.0.0.1:7501"
            ));
        };
        Ok(Self::Tcp { host, port })
    }

    /// Whether what is sent there stays on this machine.
    pub fn is_local(&self) -> bool {
        match self {
            Self::Unix(_) => true,
            Self::Tcp { host, .. } => {
                let bare = host.trim_matches(['[', ']']);
                let ip = bare.parse::<std::net::IpAddr>();
                host == "localhost" || ip.is_ok_and(|ip| ip.is_loopback())
            }
        }
    }

    /// Endpoint that connects when it is first used, and again after a break.
    pub(crate) fn endpoint(&self) -> Result<Endpoint, String> {
        let text = match self {
            Self::Unix(path) => format!("unix:{}", path.display()),
            Self::Tcp { host, port } => format!("http://{host}:{port}"),
        };
        Endpoint::from_shared(text).map_err(|error| format!("{self}: {error}"))
    }

    pub(crate) fn channel(&self, endpoint: Endpoint) -> Channel {
        endpoint.connect_lazy()
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unix(path) => write!(f, "unix:{}", path.display()),
            Self::Tcp { host, port } => write!(f, "{host}:{port}"),
        }
    }
}
