//! What a plug-in did wrong, in words.

use std::{error::Error, io, time::Duration};

use tokio_rustls::rustls::{self, CertificateError};
use tonic::{Code, Status};

use crate::plugin::ANSWER_BYTES;

/// Characters that are repeated of what a plug-in says.
const REPEATED: usize = 300;

/// Why there is no answer that can be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Kebab-case word, such as `late`.
    pub word: &'static str,
    /// One sentence that names the plug-in and what to do, for who runs the server.
    pub message: String,
    /// The same for the plug-in's author, who is told what to change and not to ask its author.
    pub for_author: String,
}

impl Fault {
    pub(crate) fn new(word: &'static str, message: impl Into<String>) -> Self {
        let message = message.into();
        Self {
            word,
            for_author: message.clone(),
            message,
        }
    }

    fn telling_author(self, message: impl Into<String>) -> Self {
        Self {
            for_author: message.into(),
            ..self
        }
    }

    pub(crate) fn late(id: &str, deadline: Duration) -> Self {
        let late = format!(
            "the plug-in {id} did not answer within {} s",
            deadline.as_secs_f64()
        );
        let message = format!("{late}: look at its log, or raise its deadline_s");
        let author =
            "answer sooner; a server waits for its deadline_s, this check for --deadline-s";
        Self::new("late", message).telling_author(format!("{late}: {author}"))
    }

    /// An answer that breaks the contract.
    pub(crate) fn broken(id: &str, what: impl std::fmt::Display) -> Self {
        let broken = format!("the plug-in {id} {what}");
        let message = format!("{broken}: have its author run 'obvert plugin check'");
        Self::new("breaks-contract", message).telling_author(broken)
    }

    fn of_tls(id: &str, error: &rustls::Error) -> Self {
        let rustls::Error::InvalidCertificate(wrong) = error else {
            let message = format!(
                "no TLS with the plug-in {id}: {error}; see that it speaks TLS at this address"
            );
            return Self::new("tls", message);
        };
        let what = match wrong {
            CertificateError::Expired | CertificateError::ExpiredContext { .. } => {
                "has expired: give it a new one"
            }
            CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. } => {
                "is not valid yet: see its first day, and the clocks of both machines"
            }
            CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => {
                "is for another host: address it by a name that its certificate says"
            }
            CertificateError::UnknownIssuer | CertificateError::BadSignature => {
                "is of another authority than its ca_file: name the right one"
            }
            _ => "cannot be trusted",
        };
        let message = format!("the certificate of the plug-in {id} {what} ({error})");
        Self::new("certificate", message)
    }

    /// What a call ended with.
    pub(crate) fn of(id: &str, service: &str, status: &Status) -> Self {
        let said = repeated(status.message());
        if let Some(error) = tls_error(status) {
            return Self::of_tls(id, error);
        }
        match status.code() {
            Code::Unavailable => Self::new(
                "unreachable",
                format!("the plug-in {id} cannot be reached: start it ({said})"),
            ),
            Code::Unimplemented => Self::new(
                "not-served",
                format!(
                    "the plug-in {id} does not serve obvert.plugin.v1.{service}: it is of another \
                     kind, or written for another version of the contract"
                ),
            ),
            Code::OutOfRange if said.contains("length") => {
                let large =
                    format!("the plug-in {id} answered more than its answer_bytes allow ({said})");
                let author = format!(
                    "{large}: answer less, or tell who runs a server; it takes {ANSWER_BYTES} \
                     bytes where its config says nothing else"
                );
                Self::new("too-large", large).telling_author(author)
            }
            Code::Internal if said.contains("decode") => {
                Self::broken(id, "answered bytes that are no message of the contract")
            }
            Code::InvalidArgument => Self::new(
                "refused",
                format!("the plug-in {id} refused what it was sent: {said}"),
            ),
            code => Self::new(
                "failed",
                format!("the plug-in {id} failed ({code:?}: {said}): look at its log"),
            ),
        }
    }
}

/// What TLS ended with, if it did.
fn tls_error(status: &Status) -> Option<&rustls::Error> {
    let mut at = status.source();
    while let Some(error) = at {
        // An I/O error hides the error that it is made of from its sources.
        let inner = error
            .downcast_ref::<io::Error>()
            .and_then(io::Error::get_ref);
        let found = inner.and_then(|inner| inner.downcast_ref());
        if let Some(found) = found.or_else(|| error.downcast_ref()) {
            return Some(found);
        }
        at = error.source();
    }
    None
}

/// What a plug-in said, without control characters and cut to a length that can be shown.
pub(crate) fn repeated(text: &str) -> String {
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    text.chars().map(plain).take(REPEATED).collect()
}
