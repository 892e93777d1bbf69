//! The config: one TOML file, unknown keys refused.

use std::{net::SocketAddr, path::Path, path::PathBuf, time::Duration};

use serde::{Deserialize, Serialize};

use crate::{Ended, Exit};

/// Everything the server is told.
#[derive(Debug, Clone, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Config {
    /// Address and port; port 0 takes a free one.
    pub listen: SocketAddr,
    /// File into which the address in use is written once the server answers.
    #[serde(default)]
    pub address_file: Option<PathBuf>,
    /// Serves plain text on addresses other than loopback.
    #[serde(default)]
    pub plain_text_off_loopback: bool,
    /// Folder of the store.
    pub store: PathBuf,
    /// File of the key that signs packages, made by `obvertd key new`.
    pub signing_key: PathBuf,
    /// Where owners get the key's fingerprint, as printed in every package.
    #[serde(default = "fingerprint_source")]
    pub fingerprint_source: String,
    /// Limits.
    #[serde(default)]
    pub limits: Limits,
}

/// Limits of the server. Each has a default and a test that reaches it.
#[derive(Debug, Clone, Copy, Deserialize, Serialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Largest message.
    pub message_bytes: usize,
    /// Largest list of headers of a request.
    pub header_list_bytes: u32,
    /// Streams of one connection at a time.
    pub streams_per_connection: u32,
    /// Connections at a time.
    pub connections: usize,
    /// Calls at a time; one more is answered UNAVAILABLE.
    pub calls: usize,
    /// Longest unary call.
    pub unary_deadline_s: u64,
    /// Longest silence of a streaming caller.
    pub stream_idle_s: u64,
    /// Time between pings to a silent client.
    pub keepalive_interval_s: u64,
    /// Longest wait for a ping's answer.
    pub keepalive_timeout_s: u64,
    /// Age at which a connection is asked to end.
    pub connection_age_s: u64,
    /// Longest typesetting of one document.
    pub typeset_deadline_s: u64,
    /// Most memory of a process that typesets.
    pub typeset_memory_bytes: u64,
    /// Largest document.
    pub document_bytes: usize,
    /// Longest wait for calls to end at shutdown.
    pub shutdown_s: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            message_bytes: 4 << 20,
            header_list_bytes: 8 << 10,
            streams_per_connection: 100,
            connections: 1_000,
            calls: 512,
            unary_deadline_s: 30,
            stream_idle_s: 60,
            keepalive_interval_s: 30,
            keepalive_timeout_s: 20,
            connection_age_s: 3_600,
            typeset_deadline_s: 60,
            typeset_memory_bytes: 2 << 30,
            document_bytes: 64 << 20,
            shutdown_s: 30,
        }
    }
}

impl Limits {
    /// Longest unary call.
    pub fn unary_deadline(&self) -> Duration {
        Duration::from_secs(self.unary_deadline_s)
    }

    /// Longest silence of a streaming caller.
    pub fn stream_idle(&self) -> Duration {
        Duration::from_secs(self.stream_idle_s)
    }
}

impl Config {
    /// Reads and checks a config file.
    ///
    /// # Errors
    ///
    /// [`Exit::BadConfig`] naming the file, the place and what to do.
    pub fn read(path: &Path) -> Result<Self, Ended> {
        let bad = |what: String| Ended::new(Exit::BadConfig, format!("{}: {what}", path.display()));
        let text = std::fs::read_to_string(path).map_err(|error| bad(error.to_string()))?;
        let config: Self = toml::from_str(&text).map_err(|error| bad(error.to_string()))?;
        if !config.listen.ip().is_loopback() && !config.plain_text_off_loopback {
            return Err(bad(format!(
                "listen is {}, which is not loopback, and this server speaks plain text: put a proxy \
                 with TLS before it and set plain_text_off_loopback = true",
                config.listen
            )));
        }
        let zeros = config.limits.zeros();
        if !zeros.is_empty() {
            return Err(bad(format!(
                "limits {} must be 1 or more",
                zeros.join(", ")
            )));
        }
        Ok(config)
    }

    /// The config in force as TOML, defaults included. It holds no secrets, only their files.
    pub fn shown(&self) -> String {
        toml::to_string_pretty(self).unwrap_or_default()
    }
}

impl Limits {
    fn zeros(&self) -> Vec<&'static str> {
        let all = [
            ("message_bytes", self.message_bytes as u64),
            ("header_list_bytes", u64::from(self.header_list_bytes)),
            (
                "streams_per_connection",
                u64::from(self.streams_per_connection),
            ),
            ("connections", self.connections as u64),
            ("calls", self.calls as u64),
            ("unary_deadline_s", self.unary_deadline_s),
            ("stream_idle_s", self.stream_idle_s),
            ("keepalive_interval_s", self.keepalive_interval_s),
            ("keepalive_timeout_s", self.keepalive_timeout_s),
            ("connection_age_s", self.connection_age_s),
            ("typeset_deadline_s", self.typeset_deadline_s),
            ("typeset_memory_bytes", self.typeset_memory_bytes),
            ("document_bytes", self.document_bytes as u64),
            ("shutdown_s", self.shutdown_s),
        ];
        all.into_iter()
            .filter(|(_, value)| *value == 0)
            .map(|(name, _)| name)
            .collect()
    }
}

fn fingerprint_source() -> String {
    "Ask the contractor's office for the fingerprint by a way other than this package.".to_owned()
}
