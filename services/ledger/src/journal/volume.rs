//! Volume files: their names, their headers, and how a new one comes to be.

use crate::{durable, error::OpenError};
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// What this program writes; a program refuses a level above its own.
pub(crate) const DATA_LEVEL: u32 = 1;
/// Size of a volume's header.
pub(crate) const HEADER_BYTES: usize = 28;
const MAGIC: &[u8; 8] = b"OBVERTJ\n";

/// Folder of the volumes in a ledger's folder.
pub(crate) fn folder(ledger: &Path) -> PathBuf {
    ledger.join("journal")
}

/// File of one volume.
pub(crate) fn path(ledger: &Path, volume: u32) -> PathBuf {
    folder(ledger).join(format!("{volume:08}.volume"))
}

/// How many volumes there are; a gap in their numbers is corruption.
pub(crate) fn count(ledger: &Path) -> Result<u32, OpenError> {
    let folder = folder(ledger);
    let failed = || OpenError::io(format!("listing {}", folder.display()));
    let mut numbers = Vec::new();
    if folder.is_dir() {
        for file in fs::read_dir(&folder).map_err(failed())? {
            let name = file.map_err(failed())?.file_name();
            let number = name.to_str().and_then(|name| name.strip_suffix(".volume"));
            numbers.extend(number.and_then(|number| number.parse::<u32>().ok()));
        }
    }
    numbers.sort_unstable();
    for (place, &number) in (1..).zip(&numbers) {
        if place != number {
            let what = format!("volume {place} is missing, volume {number} exists");
            return Err(OpenError::Corrupt {
                volume: place,
                offset: 0,
                revision: None,
                what,
            });
        }
    }
    Ok(numbers.len() as u32)
}

/// Creates a volume with its header, whole or not at all.
pub(crate) fn create(ledger: &Path, volume: u32, commits_before: u64) -> io::Result<()> {
    let mut header = Vec::with_capacity(HEADER_BYTES);
    header.extend_from_slice(MAGIC);
    header.extend_from_slice(&DATA_LEVEL.to_le_bytes());
    header.extend_from_slice(&volume.to_le_bytes());
    header.extend_from_slice(&commits_before.to_le_bytes());
    header.extend_from_slice(&crc32c::crc32c(&header).to_le_bytes());
    durable::write_file(&path(ledger, volume), &header, 0o644)
}

/// Opens a volume for reading and checks its header: the file, its length, commits before it.
pub(crate) fn open(ledger: &Path, volume: u32) -> Result<(File, u64, u64), OpenError> {
    let path = path(ledger, volume);
    let failed = || OpenError::io(format!("reading {}", path.display()));
    let mut file = File::open(&path).map_err(failed())?;
    let length = file.metadata().map_err(failed())?.len();
    let mut header = [0; HEADER_BYTES];
    if length >= HEADER_BYTES as u64 {
        file.read_exact(&mut header).map_err(failed())?;
    }
    Ok((file, length, check_header(&header, volume)?))
}

fn check_header(header: &[u8; HEADER_BYTES], volume: u32) -> Result<u64, OpenError> {
    let (fixed, crc) = header.split_at(HEADER_BYTES - 4);
    let word =
        |at: usize| u32::from_le_bytes([fixed[at], fixed[at + 1], fixed[at + 2], fixed[at + 3]]);
    let whole = fixed.starts_with(MAGIC) && crc32c::crc32c(fixed).to_le_bytes() == crc;
    let level = word(8);
    if whole && level > DATA_LEVEL {
        return Err(OpenError::NewerLevel {
            volume,
            found: level,
            supported: DATA_LEVEL,
        });
    }
    if whole && word(12) == volume {
        return Ok(u64::from(word(16)) | u64::from(word(20)) << 32);
    }
    let what = "the volume's header is not whole or belongs to another volume".to_string();
    Err(OpenError::Corrupt {
        volume,
        offset: 0,
        revision: None,
        what,
    })
}
