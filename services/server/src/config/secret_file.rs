//! A secret as the config names it: by its file or by a systemd credential, never by its text.

use std::{
    fmt,
    os::unix::fs::PermissionsExt,
    path::{Path, PathBuf},
};

use crate::{Ended, Exit};

/// What a credential is written with.
const CREDENTIAL: &str = "credential:";
/// Folder of the credentials that systemd hands to a unit.
const CREDENTIALS_FOLDER: &str = "CREDENTIALS_DIRECTORY";

/// Where a secret is kept. Its text is read when it is used and never shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SecretFile {
    key: &'static str,
    written: String,
    path: PathBuf,
}

impl SecretFile {
    /// What a key of the config names, or why that cannot be.
    pub(super) fn named(key: &'static str, written: &str) -> Result<Self, String> {
        let is_secret = written.contains('\n') || written.starts_with("obv_");
        if is_secret || written.contains("-----BEGIN") {
            return Err(format!(
                "{key} holds a secret itself: keep it in a file and write the file's name here"
            ));
        }
        let path = match written.strip_prefix(CREDENTIAL) {
            None => PathBuf::from(written),
            Some(name) if name.is_empty() || name.contains('/') => {
                return Err(format!("{key} is \"{written}\": write credential:NAME"));
            }
            Some(name) => match std::env::var_os(CREDENTIALS_FOLDER) {
                Some(folder) => Path::new(&folder).join(name),
                None => {
                    return Err(format!(
                        "{key} is a credential and {CREDENTIALS_FOLDER} is not set: \
                         start by systemd with LoadCredential={name}:FILE, or name a file"
                    ));
                }
            },
        };
        Ok(Self {
            key,
            written: written.to_owned(),
            path,
        })
    }

    /// File that holds it.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// The secret, if nobody but its owner can read it.
    pub(crate) fn read(&self, how_to_make: &str) -> Result<Vec<u8>, Ended> {
        let told = |error: std::io::Error| match error.kind() {
            std::io::ErrorKind::NotFound => self.bad(format!("{error}: {how_to_make}")),
            _ => self.bad(error),
        };
        let mode = std::fs::metadata(&self.path).map_err(told)?.permissions();
        let mode = mode.mode() & 0o777;
        // systemd lets the unit's user read a credential by an entry that shows as the group's.
        let others = if self.written.starts_with(CREDENTIAL) {
            0o007
        } else {
            0o077
        };
        if mode & others != 0 {
            let what = format!("its mode is {mode:o}, others can read it: chmod 600");
            return Err(self.bad(what));
        }
        std::fs::read(&self.path).map_err(told)
    }

    /// An end that names the key and its file.
    pub(crate) fn bad(&self, what: impl fmt::Display) -> Ended {
        let message = format!("{} {}: {what}", self.key, self.path.display());
        Ended::new(Exit::BadConfig, message)
    }
}

impl fmt::Display for SecretFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}
