//! The key that signs packages, and how the ledger knows its public half.

use ed25519_dalek::{
    Signer as _, SigningKey, VerifyingKey,
    pkcs8::{EncodePublicKey, spki::der::pem::LineEnding},
};
use obvert_access::OFFICE;
use obvert_ledger::{Assert, Caller, Draft, Expect, Ledger, LedgerError, NewEntry, Stored};
use obvert_proto::{
    Problem,
    closeout::v1,
    common::v1::Reason,
    dates::{from_unix_ms, unix_ms},
};
use obvert_records::{Digest, names, refusal};
use prost::{Message, Name};
use sha2::{Digest as _, Sha256};

use super::hex;

/// Signing keys that are looked through for the one before; an office has a handful.
const KEYS: usize = 1_000;

/// Private Ed25519 key of the office, and where an owner learns its fingerprint.
pub struct Signer {
    key: SigningKey,
    fingerprint: String,
    fingerprint_source: String,
}

impl Signer {
    /// Signer with a key. `fingerprint_source` is one sentence that packages print, such as "The
    /// owner has it by letter of 2026-03-02."
    pub fn new(key: SigningKey, fingerprint_source: &str) -> Self {
        let fingerprint = fingerprint(&key.verifying_key());
        Self {
            key,
            fingerprint,
            fingerprint_source: fingerprint_source.to_owned(),
        }
    }

    /// Fingerprint of the public key.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    pub(super) fn fingerprint_source(&self) -> &str {
        &self.fingerprint_source
    }

    /// Fingerprint, and where else the owner finds it.
    pub(super) fn named(&self) -> [&str; 2] {
        [&self.fingerprint, &self.fingerprint_source]
    }

    pub(super) fn sign(&self, message: &[u8]) -> [u8; 64] {
        self.key.sign(message).to_bytes()
    }

    /// Public key as PEM text of its SubjectPublicKeyInfo.
    pub(super) fn public_pem(&self) -> Result<String, Problem> {
        let pem = self.key.verifying_key().to_public_key_pem(LineEnding::LF);
        pem.map_err(|error| Problem::new(Reason::Internal, format!("the public key: {error}")))
    }
}

/// SHA-256 of the raw public key of 32 bytes, in lower-case hexadecimal.
pub fn fingerprint(key: &VerifyingKey) -> String {
    hex(&Sha256::digest(key.as_bytes()))
}

/// Writes the signer's public half into `office`, once; a later key names the one it replaces.
///
/// # Errors
///
/// A refusal of the ledger.
pub async fn announce(ledger: &Ledger, signer: &Signer, now_ms: i64) -> Result<(), Problem> {
    let collection = "signingKeys";
    let name = names::join(
        OFFICE,
        collection,
        &format!("k-{}", &signer.fingerprint[..32]),
    );
    if ledger
        .get(name.clone(), 0)
        .await
        .map_err(refusal)?
        .is_some()
    {
        return Ok(());
    }
    let page = ledger
        .list(OFFICE.to_owned(), collection.to_owned(), None, KEYS, 0)
        .await;
    let key = v1::SigningKey {
        fingerprint: signer.fingerprint.clone(),
        public_key: signer.key.verifying_key().to_bytes().to_vec(),
        start_time: Some(from_unix_ms(now_ms)),
        replaces: newest(&page.map_err(refusal)?.items),
    };
    let body = key.encode_to_vec();
    let draft = Draft {
        project: OFFICE.to_owned(),
        caller: Caller {
            principal: "server".to_owned(),
            role: "office".to_owned(),
            ..Caller::default()
        },
        request_id: String::new(),
        request_digest: Digest::default().part(name.as_bytes()).part(&body).finish(),
        reason: "The server began to sign packages with this key.".to_owned(),
        commit_time_ms: now_ms,
        observed_time_ms: None,
        asserts: vec![Assert {
            name: name.clone(),
            expect: Expect::Absent,
        }],
        entries: vec![NewEntry {
            name,
            type_name: v1::SigningKey::full_name(),
            body: body.into(),
            refers: Vec::new(),
            claims: Vec::new(),
        }],
    };
    match ledger.commit(draft).await {
        // Another server announced the same key meanwhile.
        Ok(_) | Err(LedgerError::Exists { .. }) => Ok(()),
        Err(error) => Err(refusal(error)),
    }
}

/// Name of the key that began last; empty when there is none.
fn newest(keys: &[Stored]) -> String {
    let start = |stored: &&Stored| {
        let key = v1::SigningKey::decode(stored.body.clone()).ok()?;
        key.start_time.as_ref().map(unix_ms)
    };
    keys.iter()
        .max_by_key(start)
        .map_or(String::new(), |stored| stored.name.clone())
}
