//! SHA-256 of files, and digests as text.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// SHA-256 of a file and its size.
pub(crate) fn hash_file(path: &Path) -> io::Result<([u8; 32], u64)> {
    let mut file = File::open(path)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 1 << 18];
    let mut size = 0;
    loop {
        let read = file.read(&mut buffer)?;
        if read == 0 {
            return Ok((hash.finalize().into(), size));
        }
        hash.update(&buffer[..read]);
        size += read as u64;
    }
}

/// Lower-case hexadecimal digits of bytes.
pub fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        })
}

/// The 32 bytes of a digest or mark written in hexadecimal digits.
pub fn unhex(text: &str) -> Option<[u8; 32]> {
    // A number may have a sign before it, a digest may not.
    if !text.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return None;
    }
    let (pairs, rest) = text.as_bytes().as_chunks::<2>();
    let digits: Option<Vec<u8>> = pairs
        .iter()
        .map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok())
        .collect();
    if rest.is_empty() {
        digits?.try_into().ok()
    } else {
        None
    }
}
