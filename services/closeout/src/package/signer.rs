//! The key that signs packages, and the fingerprint by which its owner is known.

use ed25519_dalek::{SigningKey, VerifyingKey};
use sha2::{Digest, Sha256};

/// A private key with what a package says of it.
pub struct Signer {
    pub(crate) key: SigningKey,
    pub(crate) fingerprint: String,
    pub(crate) fingerprint_source: String,
}

impl Signer {
    /// A signer with the sentence that tells a reader where to get its fingerprint by another way.
    pub fn new(key: SigningKey, fingerprint_source: &str) -> Self {
        let fingerprint = fingerprint(&key.verifying_key());
        Self { key, fingerprint, fingerprint_source: fingerprint_source.to_owned() }
    }

    /// SHA-256 of the raw public key, in lower-case hexadecimal.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }
}

/// SHA-256 of a raw public key, in lower-case hexadecimal.
pub fn fingerprint(key: &VerifyingKey) -> String {
    Sha256::digest(key.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}
