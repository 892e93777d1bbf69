//! Sessions of pages: a signed cookie that names a key, so that no server keeps state.

use std::{fs, io::Write, os::unix::fs::OpenOptionsExt, path::Path, sync::Arc};

use aws_lc_rs::hmac;
use axum::http::{HeaderMap, header};
use obvert_access::{Caller, Keys, LinkSigner};
use obvert_ledger::{hex, unhex};
use obvert_proto::{Problem, common::v1::Reason};

use crate::{Ended, Exit};

/// Name of the cookie; the prefix makes browsers insist on Secure, no Domain and Path=/.
const COOKIE: &str = "__Host-obvert";
/// Life of a session.
const LIFE_MS: i64 = 12 * 3_600_000;
/// File of the signing secret, in the folder of the store.
const SECRET_FILE: &str = "session.secret";

/// Secret that signs sessions.
#[derive(Clone)]
pub(crate) struct Secret(Arc<hmac::Key>);

/// Reads the secret of a store, or makes it.
pub(crate) fn session_secret(store: &Path) -> Result<Secret, Ended> {
    let path = store.join(SECRET_FILE);
    let failed = |what: String| Ended::new(Exit::Failure, format!("{}: {what}", path.display()));
    let bytes = match fs::read(&path) {
        Ok(bytes) if bytes.len() == 32 => bytes,
        Ok(_) => {
            return Err(failed(
                "is not 32 bytes long: delete it, sessions begin anew".to_owned(),
            ));
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            let mut bytes = vec![0_u8; 32];
            getrandom::fill(&mut bytes).map_err(|error| failed(error.to_string()))?;
            let file = fs::OpenOptions::new()
                .write(true)
                .create_new(true)
                .mode(0o600)
                .open(&path);
            let written = file.and_then(|mut file| file.write_all(&bytes));
            written.map_err(|error| failed(error.to_string()))?;
            bytes
        }
        Err(error) => return Err(failed(error.to_string())),
    };
    Ok(Secret(Arc::new(hmac::Key::new(hmac::HMAC_SHA256, &bytes))))
}

impl Secret {
    /// Signer of links, with a secret that follows from this one and signs nothing else.
    pub(crate) fn links(&self) -> LinkSigner {
        LinkSigner::new(hmac::sign(&self.0, b"obvert links 1").as_ref())
    }

    /// `Set-Cookie` of a new session for a key.
    pub(crate) fn cookie(&self, digest: [u8; 32], now_ms: i64) -> String {
        let told = format!("{}.{}", now_ms + LIFE_MS, hex(&digest));
        let mark = hex(hmac::sign(&self.0, told.as_bytes()).as_ref());
        let seconds = LIFE_MS / 1_000;
        format!(
            "{COOKIE}={told}.{mark}; Path=/; Max-Age={seconds}; Secure; HttpOnly; SameSite=Strict"
        )
    }

    /// `Set-Cookie` that ends a session.
    pub(crate) fn ended() -> String {
        format!("{COOKIE}=; Path=/; Max-Age=0; Secure; HttpOnly; SameSite=Strict")
    }

    /// Caller of the session that a request carries.
    pub(crate) fn caller(
        &self,
        keys: &Keys,
        headers: &HeaderMap,
        now_ms: i64,
    ) -> Result<Caller, Problem> {
        let refuse = || Problem::new(Reason::NotAuthenticated, "sign in first");
        let cookies = headers
            .get_all(header::COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok());
        let mut pairs = cookies
            .flat_map(|text| text.split("; "))
            .filter_map(|c| c.split_once('='));
        let (_, value) = pairs.find(|(name, _)| *name == COOKIE).ok_or_else(refuse)?;
        let (told, mark) = value.rsplit_once('.').ok_or_else(refuse)?;
        let mark = unhex(mark).ok_or_else(refuse)?;
        hmac::verify(&self.0, told.as_bytes(), &mark).map_err(|_| refuse())?;
        let (until, digest) = told.split_once('.').ok_or_else(refuse)?;
        if until.parse::<i64>().map_err(|_| refuse())? <= now_ms {
            return Err(refuse());
        }
        let digest = unhex(digest).ok_or_else(refuse)?;
        keys.caller_of_digest(&digest, now_ms)
    }
}
