//! Signed links: what lets somebody without a key do one thing, until a time.
//!
//! A link says its purpose, project, record and end in plain text, under a mark that only this server
//! can make. Nothing of it is kept; what it may still do is a record that its page looks up, so that
//! it can be revoked and used up.

use std::sync::Arc;

use aws_lc_rs::hmac;
use obvert_ledger::{hex, unhex};

/// Signs links and reads them again.
#[derive(Clone)]
pub struct LinkSigner(Arc<hmac::Key>);

/// What a link says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// One word for what its page does, such as `issuer`; a link of one purpose opens no other page.
    pub purpose: String,
    /// Project id.
    pub project: String,
    /// Id of the record that says what the link is for.
    pub id: String,
    /// When it stops working, in milliseconds since 1970-01-01T00:00:00Z.
    pub expire_time_ms: i64,
}

/// Why a link is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkError {
    /// It was not made here, was changed, or is for another page.
    Unknown,
    /// Its time is over.
    Expired,
}

impl LinkSigner {
    /// Signer with a secret of its own.
    pub fn new(secret: &[u8]) -> Self {
        Self(Arc::new(hmac::Key::new(hmac::HMAC_SHA256, secret)))
    }

    /// Text of a link, in characters that a URL takes as they are. The parts of a link hold no dot.
    pub fn text(&self, link: &Link) -> String {
        let told = told(link);
        let mark = hex(hmac::sign(&self.0, told.as_bytes()).as_ref());
        format!("{told}.{mark}")
    }

    /// Link of a text that was made for a purpose and still works.
    ///
    /// # Errors
    ///
    /// [`LinkError`] when it is none, or none any more.
    pub fn read(&self, purpose: &str, text: &str, now_ms: i64) -> Result<Link, LinkError> {
        let (told, mark) = text.rsplit_once('.').ok_or(LinkError::Unknown)?;
        let mark = unhex(mark).ok_or(LinkError::Unknown)?;
        hmac::verify(&self.0, told.as_bytes(), &mark).map_err(|_| LinkError::Unknown)?;
        let parts: Vec<_> = told.split('.').collect();
        let [made_for, project, id, end] = parts[..] else {
            return Err(LinkError::Unknown);
        };
        let expire_time_ms: i64 = end.parse().map_err(|_| LinkError::Unknown)?;
        if made_for != purpose {
            return Err(LinkError::Unknown);
        }
        if expire_time_ms <= now_ms {
            return Err(LinkError::Expired);
        }
        Ok(Link {
            purpose: made_for.to_owned(),
            project: project.to_owned(),
            id: id.to_owned(),
            expire_time_ms,
        })
    }
}

fn told(link: &Link) -> String {
    let Link {
        purpose,
        project,
        id,
        expire_time_ms,
    } = link;
    format!("{purpose}.{project}.{id}.{expire_time_ms}")
}
