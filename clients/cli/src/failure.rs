//! How a command ends when it does not succeed.

use std::{fmt, io, path::Path};

use tonic::{Code, Status};
use tonic_types::StatusExt;

use crate::output::plain;

/// Exit codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// It failed.
    Failure = 1,
    /// The command line is wrong.
    Usage = 2,
    /// The data is wrong, or a point is held.
    DataInvalid = 3,
    /// What was named does not exist.
    NotFound = 4,
    /// The key does not allow it.
    NotAllowed = 5,
    /// Somebody else changed it first.
    Stale = 6,
    /// The server cannot be reached or is busy.
    Unavailable = 7,
    /// A package is not what it says it is.
    VerificationFailed = 8,
}

/// An end with its message.
#[derive(Debug)]
pub struct Failure {
    /// Kind of end.
    pub exit: Exit,
    /// What happened and what to do.
    pub message: String,
    /// Every place that is wrong, with what is wrong there.
    pub places: Vec<(String, String)>,
    /// Reason word of the server, such as `ETAG_STALE`.
    pub reason: String,
}

impl Failure {
    /// A failure without places.
    pub fn new(exit: Exit, message: impl Into<String>) -> Self {
        Self {
            exit,
            message: message.into(),
            places: Vec::new(),
            reason: String::new(),
        }
    }

    /// A file that could not be read or written.
    pub(crate) fn file(path: &Path, error: &io::Error) -> Self {
        let (exit, what) = match error.kind() {
            io::ErrorKind::NotFound if path.parent().is_some_and(is_missing) => (
                Exit::NotFound,
                "its folder does not exist: make it, or correct the path",
            ),
            io::ErrorKind::NotFound => (Exit::NotFound, "there is no such file: correct the path"),
            io::ErrorKind::IsADirectory => (Exit::Failure, "it is a folder: name a file"),
            _ => (Exit::Failure, &*error.to_string()),
        };
        Self::new(exit, format!("{}: {what}", path.display()))
    }

    /// Data that is wrong in one place.
    pub(crate) fn data(place: impl fmt::Display, error: impl fmt::Display) -> Self {
        Self::new(Exit::DataInvalid, format!("{place}: {error}"))
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "obvert: {}", plain(&self.message))?;
        for (place, what) in &self.places {
            let row = format!("{place}: {what}");
            // A single place is often the message itself.
            if row != self.message {
                writeln!(f, "  {}", plain(&row))?;
            }
        }
        if !self.reason.is_empty() {
            let reason = plain(&self.reason);
            writeln!(f, "  reason {reason} (see proto/reasons/{reason}.md)")?;
        }
        Ok(())
    }
}

fn is_missing(folder: &Path) -> bool {
    !folder.as_os_str().is_empty() && !folder.exists()
}

impl From<Status> for Failure {
    fn from(status: Status) -> Self {
        let exit = match status.code() {
            Code::InvalidArgument | Code::FailedPrecondition | Code::OutOfRange => {
                Exit::DataInvalid
            }
            Code::AlreadyExists => Exit::DataInvalid,
            Code::NotFound => Exit::NotFound,
            Code::PermissionDenied | Code::Unauthenticated => Exit::NotAllowed,
            Code::Aborted => Exit::Stale,
            Code::Unavailable | Code::DeadlineExceeded => Exit::Unavailable,
            _ => Exit::Failure,
        };
        let details = status.get_error_details();
        let fields = details
            .bad_request()
            .into_iter()
            .flat_map(|wrong| &wrong.field_violations);
        let mut places: Vec<_> = fields
            .map(|wrong| (wrong.field.clone(), wrong.description.clone()))
            .collect();
        let held = details
            .precondition_failure()
            .into_iter()
            .flat_map(|wrong| &wrong.violations);
        places.extend(held.map(|held| (held.subject.clone(), held.description.clone())));
        let info = details.error_info();
        let left_out = info.and_then(|info| info.metadata.get("violations_left_out_count"));
        places.extend(left_out.map(|count| ("and".to_owned(), format!("{count} more places"))));
        let reason = info.map_or_else(String::new, |info| info.reason.clone());
        Self {
            exit,
            message: status.message().to_owned(),
            places,
            reason,
        }
    }
}

impl From<tonic::transport::Error> for Failure {
    fn from(error: tonic::transport::Error) -> Self {
        let mut message = format!("the server cannot be reached: {error}");
        let mut cause = std::error::Error::source(&error);
        while let Some(error) = cause {
            message = format!("{message}: {error}");
            cause = error.source();
        }
        Self::new(Exit::Unavailable, message)
    }
}
