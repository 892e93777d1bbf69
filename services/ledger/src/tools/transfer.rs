//! The export file: parts with a kind and a length, closed by the SHA-256 of all that went before.
//!
//! It is independent of volumes and groups, so it can be read by a program with another journal.

use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

const MAGIC: &[u8; 8] = b"OBVERTX1";
pub(super) const BLOB: u8 = 1;
pub(super) const COMMIT: u8 = 2;
const END: u8 = 3;

/// Writes an export file under a temporary name until it is whole.
pub(super) struct Writer {
    file: BufWriter<File>,
    hash: Sha256,
    aside: PathBuf,
    out: PathBuf,
}

impl Writer {
    pub(super) fn create(out: &Path) -> io::Result<Writer> {
        let mut name = out.file_name().unwrap_or_default().to_os_string();
        name.push(".new");
        let aside = out.with_file_name(name);
        let file = BufWriter::with_capacity(1 << 18, File::create(&aside)?);
        let mut writer = Writer {
            file,
            hash: Sha256::new(),
            aside,
            out: out.to_path_buf(),
        };
        writer.put(MAGIC)?;
        Ok(writer)
    }

    pub(super) fn part(&mut self, kind: u8, bytes: &[u8]) -> io::Result<()> {
        self.put(&[kind])?;
        self.put(&(bytes.len() as u64).to_le_bytes())?;
        self.put(bytes)
    }

    pub(super) fn file(&mut self, kind: u8, path: &Path) -> io::Result<()> {
        let mut file = File::open(path)?;
        let mut left = file.metadata()?.len();
        self.put(&[kind])?;
        self.put(&left.to_le_bytes())?;
        let mut buffer = vec![0; 1 << 18];
        while left > 0 {
            let part = buffer
                .len()
                .min(usize::try_from(left).unwrap_or(usize::MAX));
            file.read_exact(&mut buffer[..part])?;
            self.put(&buffer[..part])?;
            left -= part as u64;
        }
        Ok(())
    }

    pub(super) fn finish(mut self) -> io::Result<()> {
        self.put(&[END])?;
        self.put(&32u64.to_le_bytes())?;
        let digest = self.hash.clone().finalize();
        self.put(&digest)?;
        self.file.flush()?;
        self.file.get_ref().sync_all()?;
        fs::rename(&self.aside, &self.out)?;
        match self
            .out
            .parent()
            .filter(|parent| !parent.as_os_str().is_empty())
        {
            Some(parent) => crate::durable::sync_folder(parent),
            None => Ok(()),
        }
    }

    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.hash.update(bytes);
        self.file.write_all(bytes)
    }
}

/// One part of an export file that is being read.
pub(super) struct Part {
    pub(super) kind: u8,
    pub(super) length: u64,
}

/// Reads an export file part by part.
pub(super) struct Source {
    file: BufReader<File>,
    hash: Sha256,
    left: u64,
}

impl Source {
    pub(super) fn open(path: &Path) -> io::Result<Source> {
        let file = File::open(path)?;
        let left = file.metadata()?.len();
        let mut source = Source {
            file: BufReader::with_capacity(1 << 18, file),
            hash: Sha256::new(),
            left,
        };
        let mut magic = [0; 8];
        source.take(&mut magic)?;
        if &magic == MAGIC {
            Ok(source)
        } else {
            Err(wrong("it is no export file"))
        }
    }

    /// The next part; none after the last, whose digest was compared.
    pub(super) fn next(&mut self) -> io::Result<Option<Part>> {
        let mut head = [0; 9];
        self.take(&mut head)?;
        let [kind, length @ ..] = head;
        let length = u64::from_le_bytes(length);
        if length > self.left {
            return Err(wrong("a part is longer than the file"));
        }
        match kind {
            BLOB | COMMIT => Ok(Some(Part { kind, length })),
            END => {
                let found = self.hash.clone().finalize();
                let mut written = [0; 32];
                self.take(&mut written)?;
                match self.left == 0 && found.as_slice() == written {
                    true => Ok(None),
                    false => Err(wrong("its SHA-256 is not the one at its end")),
                }
            }
            other => Err(wrong(&format!("it has a part of unknown kind {other}"))),
        }
    }

    /// The bytes of a part in memory.
    pub(super) fn bytes(&mut self, part: &Part) -> io::Result<Vec<u8>> {
        let mut bytes = vec![0; usize::try_from(part.length).map_err(io::Error::other)?];
        self.take(&mut bytes)?;
        Ok(bytes)
    }

    /// Copies the bytes of a part.
    pub(super) fn copy(&mut self, part: &Part, to: &mut dyn Write) -> io::Result<()> {
        let mut buffer = vec![0; 1 << 18];
        let mut left = part.length;
        while left > 0 {
            let size = buffer
                .len()
                .min(usize::try_from(left).unwrap_or(usize::MAX));
            self.take(&mut buffer[..size])?;
            to.write_all(&buffer[..size])?;
            left -= size as u64;
        }
        Ok(())
    }

    fn take(&mut self, bytes: &mut [u8]) -> io::Result<()> {
        if bytes.len() as u64 > self.left {
            return Err(wrong("it ends too early"));
        }
        self.file.read_exact(bytes)?;
        self.hash.update(&*bytes);
        self.left -= bytes.len() as u64;
        Ok(())
    }
}

fn wrong(what: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, what)
}
