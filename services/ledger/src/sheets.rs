//! Personal data, outside the journal, so that it can be erased.
//!
//! A sheet is one file: nonce, the sheet's own key wrapped under the master key, the sealed text
//! (both AES-256-GCM, bound to the sheet's name). Erasing overwrites the wrapped key, then removes
//! the file: whatever a disk or a backup keeps of the text without that key is noise. The master
//! key is a file of its own, readable by the server's user only, and in no backup this crate makes.

use crate::digest::hex;
use crate::durable;
use aws_lc_rs::aead::{AES_256_GCM, Aad, LessSafeKey, Nonce, UnboundKey};
use aws_lc_rs::rand::{SecureRandom, SystemRandom};
use sha2::{Digest, Sha256};
use std::fs::{self, OpenOptions};
use std::io;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use thiserror::Error;

const NONCE_BYTES: usize = 12;
const WRAPPED_BYTES: usize = 48;

/// Why a sheet cannot be written or read.
#[derive(Debug, Error)]
pub enum SheetError {
    /// The sheet or the master key is not what was written.
    #[error("the sheet of {name} cannot be opened: it is damaged, or the master key is another")]
    Damaged {
        /// Name of the sheet.
        name: String,
    },
    /// The operating system refused.
    #[error("the sheets failed: {0}")]
    Io(#[from] io::Error),
}

/// Sheets of a ledger.
#[derive(Clone)]
pub struct Sheets {
    folder: PathBuf,
    master: Arc<LessSafeKey>,
}

impl Sheets {
    pub(crate) fn open(ledger: &Path) -> io::Result<Sheets> {
        let folder = folder(ledger);
        durable::create_folder(&folder)?;
        let path = ledger.join("master.key");
        let key = match fs::read(&path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                let mut key = vec![0; 32];
                let failed = |_| io::Error::other("the system gave no random bytes");
                SystemRandom::new().fill(&mut key).map_err(failed)?;
                durable::write_file(&path, &key, 0o600)?;
                key
            }
            key => key?,
        };
        let wrong = || io::Error::other(format!("{} does not hold 32 bytes", path.display()));
        Ok(Sheets {
            folder,
            master: Arc::new(aead(&key).ok_or_else(wrong)?),
        })
    }

    /// Writes a sheet, replacing an earlier one; key and nonce must be random and used once.
    /// Returns SHA-256(salt, plain), which the record keeps.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn put(
        &self,
        name: String,
        plain: Vec<u8>,
        salt: [u8; 32],
        key: [u8; 32],
        nonce: [u8; 12],
    ) -> Result<[u8; 32], SheetError> {
        let digest = Sha256::new()
            .chain_update(salt)
            .chain_update(&plain)
            .finalize()
            .into();
        let (path, master) = (self.path(&name), Arc::clone(&self.master));
        blocking(move || {
            let damaged = || SheetError::Damaged { name: name.clone() };
            let mut file = nonce.to_vec();
            // One nonce serves twice, but under two different keys.
            file.extend(seal(&master, nonce, &name, key.to_vec()).ok_or_else(damaged)?);
            let own = aead(&key).ok_or_else(damaged)?;
            file.extend(seal(&own, nonce, &name, plain).ok_or_else(damaged)?);
            Ok(durable::write_file(&path, &file, 0o600)?)
        })
        .await?;
        Ok(digest)
    }

    /// Reads a sheet; none when there is none or it was erased.
    ///
    /// # Errors
    /// The sheet is damaged, or the disk refuses.
    pub async fn get(&self, name: String) -> Result<Option<Vec<u8>>, SheetError> {
        let (path, master) = (self.path(&name), Arc::clone(&self.master));
        blocking(move || {
            let file = match fs::read(path) {
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
                file => file?,
            };
            open(&master, &name, &file)
                .map(Some)
                .ok_or(SheetError::Damaged { name })
        })
        .await
    }

    /// Erases a sheet for good; false when there is none.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn erase(&self, name: String) -> Result<bool, SheetError> {
        let path = self.path(&name);
        blocking(move || {
            let file = match OpenOptions::new().write(true).open(&path) {
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
                file => file?,
            };
            file.write_all_at(&[0; NONCE_BYTES + WRAPPED_BYTES], 0)?;
            file.sync_all()?;
            fs::remove_file(&path)?;
            durable::sync_folder(path.parent().unwrap_or(&path))?;
            Ok(true)
        })
        .await
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder
            .join(format!("{}.sheet", hex(&Sha256::digest(name))))
    }
}

/// Folder of the sheets in a ledger's folder.
pub(crate) fn folder(ledger: &Path) -> PathBuf {
    ledger.join("sheets")
}

fn aead(key: &[u8]) -> Option<LessSafeKey> {
    UnboundKey::new(&AES_256_GCM, key)
        .ok()
        .map(LessSafeKey::new)
}

fn seal(key: &LessSafeKey, nonce: [u8; 12], name: &str, mut text: Vec<u8>) -> Option<Vec<u8>> {
    let nonce = Nonce::assume_unique_for_key(nonce);
    key.seal_in_place_append_tag(nonce, Aad::from(name.as_bytes()), &mut text)
        .ok()?;
    Some(text)
}

fn open(master: &LessSafeKey, name: &str, file: &[u8]) -> Option<Vec<u8>> {
    let (nonce, rest) = file.split_first_chunk::<NONCE_BYTES>()?;
    let (wrapped, sealed) = rest.split_at_checked(WRAPPED_BYTES)?;
    let unseal = |key: &LessSafeKey, text: &[u8]| {
        let mut text = text.to_vec();
        let nonce = Nonce::assume_unique_for_key(*nonce);
        let length = key
            .open_in_place(nonce, Aad::from(name.as_bytes()), &mut text)
            .ok()?
            .len();
        text.truncate(length);
        Some(text)
    };
    let own = aead(&unseal(master, wrapped)?)?;
    unseal(&own, sealed)
}

async fn blocking<T: Send + 'static>(
    act: impl FnOnce() -> Result<T, SheetError> + Send + 'static,
) -> Result<T, SheetError> {
    let done = tokio::task::spawn_blocking(act).await;
    done.unwrap_or_else(|error| Err(SheetError::Io(error.into())))
}
