//! The channel to the server, with the caller's key on every call.

use std::{
    fs,
    os::unix::fs::PermissionsExt,
    path::{Path, PathBuf},
    time::Duration,
};

use clap::ArgMatches;
use tonic::{
    Request, Status,
    metadata::{Ascii, MetadataValue},
    service::{Interceptor, interceptor::InterceptedService},
    transport::{Certificate, Channel, ClientTlsConfig, Endpoint},
};

use crate::{Exit, Failure, output};

/// Server asked when none is named.
const DEFAULT_SERVER: &str = "http://127.0.0.1:7480";

/// Channel with a key.
pub(crate) type Keyed = InterceptedService<Channel, Bearer>;

/// Puts the key on a call.
#[derive(Clone)]
pub(crate) struct Bearer(MetadataValue<Ascii>);

impl Interceptor for Bearer {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        request
            .metadata_mut()
            .insert("authorization", self.0.clone());
        Ok(request)
    }
}

/// Connects as the command line says.
///
/// # Errors
///
/// [`Exit::NotAllowed`] without a key file, [`Exit::Unavailable`] when nobody answers.
pub(crate) async fn connect(matches: &ArgMatches) -> Result<Keyed, Failure> {
    let server = server(matches);
    let bearer = bearer(matches)?;
    let bad = |error| Failure::new(Exit::Usage, format!("--server {server}: {error}"));
    let endpoint =
        Endpoint::from_shared(server.to_owned()).map_err(|error| bad(error.to_string()))?;
    let endpoint = if server.starts_with("https://") {
        let encrypted = endpoint.tls_config(trusted(matches)?);
        encrypted.map_err(|error| bad(error.to_string()))?
    } else {
        endpoint
    };
    let endpoint = endpoint
        .connect_timeout(Duration::from_secs(10))
        .keep_alive_while_idle(true)
        .http2_keep_alive_interval(Duration::from_secs(60))
        .tcp_nodelay(true);
    Ok(InterceptedService::new(endpoint.connect().await?, bearer))
}

/// Server that the command line names, or the usual one.
pub(crate) fn server(matches: &ArgMatches) -> &str {
    matches
        .get_one::<String>("server")
        .map_or(DEFAULT_SERVER, String::as_str)
}

/// Whose certificates are believed: those of the named file, else those the system believes.
fn trusted(matches: &ArgMatches) -> Result<ClientTlsConfig, Failure> {
    let config = ClientTlsConfig::new();
    match matches.get_one::<PathBuf>("ca-file") {
        Some(file) => {
            let pem = fs::read(file).map_err(|error| Failure::file(file, &error))?;
            Ok(config.ca_certificate(Certificate::from_pem(pem)))
        }
        None => Ok(config.with_native_roots()),
    }
}

fn bearer(matches: &ArgMatches) -> Result<Bearer, Failure> {
    let file = matches
        .get_one::<PathBuf>("key-file")
        .cloned()
        .or_else(default_key_file);
    let missing = "no key: write it into a file that only you can read and name it with --key-file";
    let file = file.ok_or_else(|| Failure::new(Exit::NotAllowed, missing))?;
    let key = fs::read_to_string(&file).map_err(|error| {
        let found = Failure::file(&file, &error).message;
        Failure::new(Exit::NotAllowed, format!("key file {found}; {missing}"))
    })?;
    if is_open_to_others(&file) {
        let file = file.display();
        output::warn(&format!(
            "key file {file} can be read by others: chmod 600 {file}"
        ));
    }
    let value = format!("Bearer {}", key.trim()).parse();
    let value = value.map_err(|_| {
        Failure::new(
            Exit::NotAllowed,
            format!("key file {} does not hold a key", file.display()),
        )
    })?;
    Ok(Bearer(value))
}

/// Whether others than its owner may read a file.
fn is_open_to_others(file: &Path) -> bool {
    fs::metadata(file).is_ok_and(|file| file.permissions().mode() & 0o044 != 0)
}

/// `obvert/key` in the user's config folder.
fn default_key_file() -> Option<PathBuf> {
    let config = std::env::var_os("XDG_CONFIG_HOME").map(PathBuf::from);
    let home = || std::env::var_os("HOME").map(|home| PathBuf::from(home).join(".config"));
    Some(config.or_else(home)?.join("obvert/key"))
}
