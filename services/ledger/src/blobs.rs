//! Files by the SHA-256 of their bytes: staged, hashed, then put in place as a whole.
//!
//! An upload session appends to a staging file that no reader can name. Only a file whose size and
//! digest are the announced ones is moved to `sha256/ab/cd/<digest>`; it is never changed there.

use crate::digest::{hash_file, hex, unhex};
use crate::durable;
use bytes::Bytes;
use object_store::local::LocalFileSystem;
use object_store::path::Path as ObjectPath;
use object_store::{Error as StoreError, ObjectStore, ObjectStoreExt, PutMode};
use sha2::{Digest, Sha256};
use std::fs::{self, File, OpenOptions};
use std::io;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a blob or an upload is refused.
#[derive(Debug, Error)]
pub enum BlobError {
    /// No such upload session.
    #[error("there is no upload session {session}: begin it first")]
    NoSession {
        /// Session.
        session: String,
    },
    /// The part does not follow what was received.
    #[error("the part must start at byte {expected}, which is as far as the upload was received")]
    Offset {
        /// Where the next part must start.
        expected: u64,
    },
    /// The upload has another size than announced; it was removed.
    #[error("the upload has {found} bytes, {expected} were announced: it was removed, start again")]
    Size {
        /// Announced.
        expected: u64,
        /// Received.
        found: u64,
    },
    /// The upload has another digest than announced; it was removed.
    #[error(
        "the upload has SHA-256 {found}, announced was {expected}: it was removed, start again"
    )]
    Digest {
        /// Announced, in hex.
        expected: String,
        /// Of what was received, in hex.
        found: String,
    },
    /// No such blob.
    #[error("there is no blob {sha256}")]
    Absent {
        /// Digest in hex.
        sha256: String,
    },
    /// The blob is not what was stored.
    #[error("blob {sha256} is damaged: its bytes have SHA-256 {found}; restore it from a backup")]
    Damaged {
        /// Digest in hex under which it was stored.
        sha256: String,
        /// Digest of its bytes now, in hex.
        found: String,
    },
    /// The disk is full.
    #[error("the disk of the blobs is full: free space and try again")]
    DiskFull,
    /// The store refused.
    #[error("the blob store failed: {0}")]
    Store(#[from] StoreError),
    /// The operating system refused.
    #[error("the blob store failed: {0}")]
    Io(io::Error),
}

impl From<io::Error> for BlobError {
    fn from(error: io::Error) -> BlobError {
        match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => BlobError::DiskFull,
            _ => BlobError::Io(error),
        }
    }
}

/// Blob store of a ledger.
pub struct Blobs {
    folder: PathBuf,
    store: LocalFileSystem,
}

impl Blobs {
    pub(crate) fn open(ledger: &Path) -> io::Result<Blobs> {
        let folder = folder(ledger);
        durable::create_folder(&folder.join("staging"))?;
        durable::create_folder(&folder.join("sha256"))?;
        let store = LocalFileSystem::new_with_prefix(&folder)?.with_fsync(true);
        Ok(Blobs { folder, store })
    }

    /// Begins an upload session, or takes up an earlier one of the same name.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn begin(&self, session: String) -> Result<(), BlobError> {
        let path = self.staging(&session);
        blocking(move || {
            let file = OpenOptions::new().append(true).create(true).open(&path)?;
            file.sync_all()?;
            Ok(durable::sync_folder(path.parent().unwrap_or(&path))?)
        })
        .await
    }

    /// Bytes a session has durably received, from which it resumes; none for an unknown session.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn received(&self, session: String) -> Result<Option<u64>, BlobError> {
        let path = self.staging(&session);
        blocking(move || match fs::metadata(path) {
            Ok(found) => Ok(Some(found.len())),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error.into()),
        })
        .await
    }

    /// Appends a part that starts at `offset`; returns the bytes durably received then.
    ///
    /// # Errors
    /// The part does not start where the received bytes end; the session is unknown; disk full.
    pub async fn append(
        &self,
        session: String,
        offset: u64,
        data: Bytes,
    ) -> Result<u64, BlobError> {
        let path = self.staging(&session);
        blocking(move || append(&path, session, offset, &data)).await
    }

    /// Ends a session: compares size and digest and makes the blob visible.
    ///
    /// # Errors
    /// Size or digest are not the announced ones; then the session is removed.
    pub async fn finish(
        &self,
        session: String,
        size: u64,
        sha256: [u8; 32],
    ) -> Result<(), BlobError> {
        let path = self.staging(&session);
        let checked = blocking(move || check(&path, session.clone(), size, sha256));
        let staged = checked.await?;
        match self
            .store
            .rename_if_not_exists(&staged, &place(&sha256))
            .await
        {
            Err(StoreError::AlreadyExists { .. }) => Ok(self.store.delete(&staged).await?),
            moved => Ok(moved?),
        }
    }

    /// Drops a session and what it received; no error when there is none.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn abandon(&self, session: String) -> Result<(), BlobError> {
        let path = self.staging(&session);
        blocking(move || match fs::remove_file(path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error.into()),
            _ => Ok(()),
        })
        .await
    }

    /// Stores bytes in one go; returns their digest. Bytes that are there already are left alone.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn put(&self, data: Bytes) -> Result<[u8; 32], BlobError> {
        let sha256: [u8; 32] = Sha256::digest(&data).into();
        match self
            .store
            .put_opts(&place(&sha256), data.into(), PutMode::Create.into())
            .await
        {
            Err(StoreError::AlreadyExists { .. }) => Ok(sha256),
            Err(error) if is_full(&error) => Err(BlobError::DiskFull),
            put => put.map(|_| sha256).map_err(BlobError::from),
        }
    }

    /// A whole blob, its digest compared.
    ///
    /// # Errors
    /// The blob is damaged, or the disk refuses.
    pub async fn get(&self, sha256: [u8; 32]) -> Result<Option<Bytes>, BlobError> {
        let data = match self.store.get(&place(&sha256)).await {
            Ok(found) => found.bytes().await?,
            Err(StoreError::NotFound { .. }) => return Ok(None),
            Err(error) => return Err(error.into()),
        };
        let hashed = data.clone();
        let found: [u8; 32] = blocking(move || Ok(Sha256::digest(&hashed).into())).await?;
        if found != sha256 {
            return Err(BlobError::Damaged {
                sha256: hex(&sha256),
                found: hex(&found),
            });
        }
        Ok(Some(data))
    }

    /// Size of a blob.
    ///
    /// # Errors
    /// The disk refuses.
    pub async fn size(&self, sha256: [u8; 32]) -> Result<Option<u64>, BlobError> {
        match self.store.head(&place(&sha256)).await {
            Ok(found) => Ok(Some(found.size)),
            Err(StoreError::NotFound { .. }) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Bytes `start` to `end` (not included) of a blob. A part cannot be compared with the digest:
    /// who reads a blob in parts hashes them as they pass.
    ///
    /// # Errors
    /// No such blob or part, or the disk refuses.
    pub async fn read_range(
        &self,
        sha256: [u8; 32],
        start: u64,
        end: u64,
    ) -> Result<Bytes, BlobError> {
        match self.store.get_range(&place(&sha256), start..end).await {
            Err(StoreError::NotFound { .. }) => Err(BlobError::Absent {
                sha256: hex(&sha256),
            }),
            read => Ok(read?),
        }
    }

    fn staging(&self, session: &str) -> PathBuf {
        self.folder
            .join("staging")
            .join(hex(&Sha256::digest(session)))
    }
}

/// Folder of the blobs in a ledger's folder.
pub(crate) fn folder(ledger: &Path) -> PathBuf {
    ledger.join("blobs")
}

/// Digests of all blobs with their files, sorted.
pub(crate) fn all(ledger: &Path) -> io::Result<Vec<([u8; 32], PathBuf)>> {
    let mut found = Vec::new();
    let mut folders = vec![folder(ledger).join("sha256")];
    while let Some(folder) = folders.pop().filter(|folder| folder.is_dir()) {
        for file in fs::read_dir(folder)? {
            let file = file?;
            let name = file.file_name().to_string_lossy().into_owned();
            match unhex(&name) {
                _ if file.file_type()?.is_dir() => folders.push(file.path()),
                Some(sha256) => found.push((sha256, file.path())),
                None => {}
            }
        }
    }
    found.sort();
    Ok(found)
}

/// File of a blob.
pub(crate) fn path(ledger: &Path, sha256: &[u8; 32]) -> PathBuf {
    folder(ledger).join(place(sha256).as_ref())
}

fn place(sha256: &[u8; 32]) -> ObjectPath {
    let name = hex(sha256);
    ObjectPath::from(format!("sha256/{}/{}/{name}", &name[..2], &name[2..4]))
}

fn append(path: &Path, session: String, offset: u64, data: &[u8]) -> Result<u64, BlobError> {
    let file = match OpenOptions::new().write(true).open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(BlobError::NoSession { session });
        }
        file => file?,
    };
    // Two callers that resume the same session must not write over one another.
    file.lock()?;
    let expected = file.metadata()?.len();
    if offset != expected {
        return Err(BlobError::Offset { expected });
    }
    if let Err(error) = file.write_all_at(data, offset) {
        file.set_len(offset)?;
        return Err(error.into());
    }
    file.sync_data()?;
    Ok(offset + data.len() as u64)
}

fn check(
    path: &Path,
    session: String,
    size: u64,
    sha256: [u8; 32],
) -> Result<ObjectPath, BlobError> {
    let file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(BlobError::NoSession { session });
        }
        file => file?,
    };
    file.sync_all()?;
    let (found, found_size) = hash_file(path)?;
    if found_size != size {
        fs::remove_file(path)?;
        return Err(BlobError::Size {
            expected: size,
            found: found_size,
        });
    }
    if found != sha256 {
        fs::remove_file(path)?;
        return Err(BlobError::Digest {
            expected: hex(&sha256),
            found: hex(&found),
        });
    }
    let name = path
        .file_name()
        .map(|name| name.to_string_lossy().into_owned());
    Ok(ObjectPath::from(format!(
        "staging/{}",
        name.unwrap_or_default()
    )))
}

fn is_full(error: &StoreError) -> bool {
    let mut cause: Option<&dyn std::error::Error> = Some(error);
    while let Some(error) = cause {
        if let Some(error) = error.downcast_ref::<io::Error>() {
            return error.kind() == io::ErrorKind::StorageFull;
        }
        cause = error.source();
    }
    false
}

async fn blocking<T: Send + 'static>(
    act: impl FnOnce() -> Result<T, BlobError> + Send + 'static,
) -> Result<T, BlobError> {
    let done = tokio::task::spawn_blocking(act).await;
    done.unwrap_or_else(|error| Err(BlobError::Io(error.into())))
}
