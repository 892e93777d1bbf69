//! Who signed: the key in the package, its two signatures, and the key that the reader expects.

use std::path::Path;

use ed25519_dalek::{
    Signature, VerifyingKey,
    pkcs8::{DecodePublicKey, EncodePublicKey, spki::der::pem::LineEnding},
};
use sha2::{Digest, Sha256};

use super::{
    Damage,
    bag::{Layout, hex},
    zip_reader::{Archive, Entry},
};
use crate::{Exit, Failure};

/// Checks both signatures; returns the signer's fingerprint.
pub(super) fn check(
    bytes: &[u8],
    archive: &Archive,
    layout: &Layout<'_>,
) -> Result<String, Damage> {
    let pem = layout.required("signature/signer.pem")?;
    let wrong = |what: &str| Damage::new(pem.offset, &pem.name, what);
    let text = std::str::from_utf8(&pem.data).map_err(|_| wrong("it is no text"))?;
    let key = VerifyingKey::from_public_key_pem(text);
    let key = key.map_err(|_| wrong("it is no Ed25519 public key in PEM"))?;
    let again = key.to_public_key_pem(LineEnding::LF).unwrap_or_default();
    if again != text {
        return Err(wrong("it is not written as a package writes its key"));
    }
    let whole = layout.required("signature/archive.sig")?;
    let last = archive.entries.last().map_or(0, |entry| entry.offset);
    if whole.offset != last {
        return Err(Damage::new(
            whole.offset,
            &whole.name,
            "it is not the last entry",
        ));
    }
    let before: [u8; 32] = Sha256::digest(&bytes[..last]).into();
    verify(
        &key,
        &before,
        whole,
        "the bytes before it are not those that were signed",
    )?;
    let list = layout.required("tagmanifest-sha256.txt")?;
    let signed = layout.required("signature/tagmanifest-sha256.sig")?;
    verify(
        &key,
        &list.data,
        signed,
        "tagmanifest-sha256.txt is not the one that was signed",
    )?;
    Ok(fingerprint(&key))
}

/// Fingerprint of the key that the reader expects: given as such, or read from a PEM file.
pub(super) fn expected(given: &str) -> Result<String, Failure> {
    let digits: String = given.chars().filter(|c| !matches!(c, ' ' | ':')).collect();
    if digits.len() == 64 && digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Ok(digits.to_ascii_lowercase());
    }
    let path = Path::new(given);
    if !path.exists() {
        let what = "is neither a fingerprint of 64 hexadecimal digits nor a file";
        return Err(Failure::new(Exit::Usage, format!("{given} {what}")));
    }
    let text = std::fs::read_to_string(path).map_err(|error| Failure::file(path, &error))?;
    match VerifyingKey::from_public_key_pem(text.trim()) {
        Ok(key) => Ok(fingerprint(&key)),
        Err(_) => {
            let what = "is no Ed25519 public key in PEM: give such a file or 64 hexadecimal digits";
            Err(Failure::new(Exit::Usage, format!("{given} {what}")))
        }
    }
}

fn fingerprint(key: &VerifyingKey) -> String {
    hex(&Sha256::digest(key.as_bytes()))
}

fn verify(key: &VerifyingKey, message: &[u8], signature: &Entry, what: &str) -> Result<(), Damage> {
    let wrong = |what: &str| Damage::new(signature.offset, &signature.name, what);
    let read = Signature::from_slice(&signature.data);
    let read = read.map_err(|_| wrong("it is no Ed25519 signature of 64 bytes"))?;
    key.verify_strict(message, &read).map_err(|_| wrong(what))
}
