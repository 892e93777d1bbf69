//! Files that are whole on the disk or not there: written aside, synced, renamed, folder synced.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

/// Makes the names in a folder durable.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Creates a folder with its parents and makes their names durable.
pub(crate) fn create_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    if let Some(parent) = folder
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty())
    {
        create_folder(parent)?;
        match fs::create_dir(folder) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(error),
            _ => return sync_folder(parent),
        }
    }
    fs::create_dir_all(folder)
}

/// Puts `bytes` at `path` as a whole, replacing what was there, with the given permission bits.
pub(crate) fn write_file(path: &Path, bytes: &[u8], mode: u32) -> io::Result<()> {
    let aside = path.with_extension("new");
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true).mode(mode);
    let written = options.open(&aside).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    if let Err(error) = written.and_then(|()| fs::rename(&aside, path)) {
        let _ = fs::remove_file(&aside);
        return Err(error);
    }
    path.parent().map_or(Ok(()), sync_folder)
}

/// Copies the first `bytes` bytes of a file to a new file and makes them durable.
pub(crate) fn copy_start(from: &Path, to: &Path, bytes: u64) -> io::Result<()> {
    let mut target = OpenOptions::new().write(true).create_new(true).open(to)?;
    let mut source = io::Read::take(File::open(from)?, bytes);
    let copied = io::copy(&mut source, &mut target)?;
    if copied != bytes {
        return Err(io::Error::new(
            io::ErrorKind::UnexpectedEof,
            "the file became shorter",
        ));
    }
    target.sync_all()
}
