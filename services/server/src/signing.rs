//! The key that signs packages: a PKCS#8 PEM file that only its owner may read.

use std::{fs::OpenOptions, io::Write, os::unix::fs::OpenOptionsExt, path::Path};

use ed25519_dalek::{
    SigningKey,
    pkcs8::{DecodePrivateKey, EncodePrivateKey, spki::der::pem::LineEnding},
};
use obvert_closeout::fingerprint;

use crate::{Config, Ended, Exit, SecretFile, tools::say};

/// Makes the key that the config names.
pub(crate) fn new_key(config: &Config) -> Result<(), Ended> {
    let path = config.signing_key.path();
    let key = create(path)?;
    let print = fingerprint(&key.verifying_key());
    say(&format!(
        "{} made; its fingerprint is {print}",
        path.display()
    ))
}

/// Makes a key in a new file; an existing file is never overwritten.
pub(crate) fn create(path: &Path) -> Result<SigningKey, Ended> {
    let failed = |what: String| Ended::new(Exit::Failure, format!("{}: {what}", path.display()));
    let mut secret = [0_u8; 32];
    getrandom::fill(&mut secret).map_err(|error| failed(error.to_string()))?;
    let key = SigningKey::from_bytes(&secret);
    let pem = key
        .to_pkcs8_pem(LineEnding::LF)
        .map_err(|error| failed(error.to_string()))?;
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(path)
        .map_err(|error| failed(format!("{error}: a signing key is never overwritten")))?;
    file.write_all(pem.as_bytes())
        .map_err(|error| failed(error.to_string()))?;
    file.sync_all().map_err(|error| failed(error.to_string()))?;
    Ok(key)
}

/// Reads the key that the config names.
pub(crate) fn read(file: &SecretFile) -> Result<SigningKey, Ended> {
    let pem = file.read("make one with 'obvertd key new'")?;
    let pem = String::from_utf8(pem).map_err(|error| file.bad(error))?;
    SigningKey::from_pkcs8_pem(&pem).map_err(|error| file.bad(error))
}
