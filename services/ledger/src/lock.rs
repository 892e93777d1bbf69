//! One process per folder: a flock of our own that names its holder.

use crate::error::OpenError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::time::{Duration, Instant};

/// A holder that is just ending gets this long to be gone.
const PATIENCE: Duration = Duration::from_millis(400);

/// The folder is ours as long as this lives.
pub(crate) struct FolderLock {
    _file: File,
}

impl FolderLock {
    /// Takes the lock of a folder, or names the process that has it, within half a second.
    pub(crate) fn take(folder: &Path) -> Result<FolderLock, OpenError> {
        let path = folder.join("lock");
        let failed = || OpenError::io(format!("locking {}", path.display()));
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        let mut file = options.open(&path).map_err(failed())?;
        let started = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => break,
                Err(TryLockError::Error(error)) => return Err(failed()(error)),
                Err(TryLockError::WouldBlock) if started.elapsed() < PATIENCE => {
                    std::thread::sleep(Duration::from_millis(10));
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(OpenError::Held {
                        pid: holder(&mut file),
                        folder: folder.to_path_buf(),
                    });
                }
            }
        }
        let written = file
            .set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(std::process::id().to_string().as_bytes()));
        match written {
            // The number is a courtesy to the next opener; a full disk must not stop reading.
            Err(error) if error.kind() != std::io::ErrorKind::StorageFull => Err(failed()(error)),
            _ => Ok(FolderLock { _file: file }),
        }
    }
}

fn holder(file: &mut File) -> u32 {
    let mut text = String::new();
    let _ = file.rewind();
    let _ = file.read_to_string(&mut text);
    text.trim().parse().unwrap_or(0)
}
