//! The config: one TOML file, read whole or refused with every fault at its row.

mod limits;
mod plugins;
mod secret_file;
mod shown;

use std::{
    net::SocketAddr,
    path::{Path, PathBuf},
};

use obvert_plugins::Registration;
use obvert_tables::toml_text::{self, Faults, Reader};

use crate::{Ended, Exit};
pub use limits::Limits;
pub use secret_file::SecretFile;

/// Where owners get the fingerprint when the config does not say.
const FINGERPRINT_SOURCE: &str =
    "Ask the contractor's office for the fingerprint by a way other than this package.";

/// Everything the server is told.
#[derive(Debug, Clone)]
pub struct Config {
    /// Address and port; port 0 takes a free one.
    pub listen: SocketAddr,
    /// File into which the address in use is written once the server answers.
    pub address_file: Option<PathBuf>,
    /// Serves plain text on addresses other than loopback.
    pub plain_text_off_loopback: bool,
    /// Folder of the store.
    pub store: PathBuf,
    /// Key that signs packages, made by `obvertd key new`.
    pub signing_key: SecretFile,
    /// Where owners get the key's fingerprint, as printed in every package.
    pub fingerprint_source: String,
    /// Certificate and key; plain text without them.
    pub tls: Option<TlsFiles>,
    /// Plug-ins.
    pub plugins: Vec<Registration>,
    /// Limits.
    pub limits: Limits,
    /// Keys that the file sets, as `key` or `table.key`.
    written: Vec<String>,
}

/// What the server shows to clients that speak TLS. Both are read again on SIGHUP.
#[derive(Debug, Clone)]
pub struct TlsFiles {
    /// PEM file with the server's certificate first and those that vouch for it after it.
    pub certificate: PathBuf,
    /// PEM file with the certificate's private key.
    pub key: SecretFile,
}

impl Config {
    /// Reads and checks a config file. Files that it names are read when they are used.
    ///
    /// # Errors
    ///
    /// [`Exit::BadConfig`] with the row of every fault and what to do.
    pub fn read(path: &Path) -> Result<Self, Ended> {
        let bad = |what: String| Ended::new(Exit::BadConfig, format!("{}: {what}", path.display()));
        let text = std::fs::read_to_string(path).map_err(|error| bad(error.to_string()))?;
        Self::parse(&text).map_err(bad)
    }

    /// Reads the text of a config; all faults of a bad one, a row each.
    fn parse(text: &str) -> Result<Self, String> {
        let mut faults = Faults::new(text);
        let config = read_all(text, &mut faults);
        let faults = faults.sorted();
        match config {
            Some(config) if faults.is_empty() => Ok(config),
            _ => {
                let rows = faults
                    .iter()
                    .map(|fault| format!("row {}: {}", fault.row, fault.message));
                Err(rows.collect::<Vec<_>>().join("\n  "))
            }
        }
    }
}

/// Nothing when the text is no TOML or lacks what has no default.
fn read_all(text: &str, faults: &mut Faults<'_>) -> Option<Config> {
    let table = toml_text::read(text, faults)?;
    let mut root = Reader::new(table.get_ref(), 0, "the config");
    let listen = listen(&mut root, faults);
    let address_file = root.text_if_any("address_file", faults);
    let plain_text_off_loopback = root.flag("plain_text_off_loopback", faults);
    let store = root.text("store", faults);
    let signing_key = secret(&mut root, "signing_key", "signing_key", faults);
    let fingerprint_source = root.text_or("fingerprint_source", FINGERPRINT_SOURCE, faults);
    let tls_table = root.table_if_any("tls", faults);
    let has_tls = tls_table.is_some();
    let tls = tls_table.and_then(|table| tls(table, faults));
    let plugins = plugins::read(&mut root, faults);
    let limits = match root.table_if_any("limits", faults) {
        Some(mut table) => {
            let limits = Limits::read(&mut table, faults);
            table.finish(faults);
            limits
        }
        None => Limits::default(),
    };
    let off_loopback = listen.is_some_and(|listen| !listen.ip().is_loopback());
    if off_loopback && !has_tls && !plain_text_off_loopback {
        let message = "listen is not loopback, and there plain text would show keys and records: \
                       add [tls] with certificate and key, or put a proxy with TLS before the \
                       server and set plain_text_off_loopback = true";
        faults.add(root.place_of("listen"), message);
    }
    let written = shown::written(table.get_ref());
    root.finish(faults);
    Some(Config {
        listen: listen?,
        address_file: address_file.map(PathBuf::from),
        plain_text_off_loopback,
        store: PathBuf::from(store),
        signing_key: signing_key?,
        fingerprint_source,
        tls,
        plugins,
        limits,
        written,
    })
}

fn listen(root: &mut Reader<'_>, faults: &mut Faults<'_>) -> Option<SocketAddr> {
    let text = root.text("listen", faults);
    let address = text.parse().ok();
    if address.is_none() && !text.is_empty() {
        let message = format!(
            "listen is \"{text}\": write an address and a port, such as \"127.0.0.1:7480\""
        );
        faults.add(root.place_of("listen"), message);
    }
    address
}

fn tls(mut table: Reader<'_>, faults: &mut Faults<'_>) -> Option<TlsFiles> {
    let certificate = PathBuf::from(table.text("certificate", faults));
    let key = secret(&mut table, "key", "tls.key", faults);
    table.finish(faults);
    Some(TlsFiles {
        certificate,
        key: key?,
    })
}

fn secret(
    table: &mut Reader<'_>,
    key: &'static str,
    name: &'static str,
    faults: &mut Faults<'_>,
) -> Option<SecretFile> {
    let text = table.text(key, faults);
    if text.is_empty() {
        return None;
    }
    let named = SecretFile::named(name, &text);
    named
        .inspect_err(|what| faults.add(table.place_of(key), what.as_str()))
        .ok()
}
