//! A writer of the one form of ZIP that packages have. It is own code because byte-exact headers
//! are part of the evidence chain: no library may choose a version, flag, time or extra field.
//!
//! Form: APPNOTE 6.3.10 without ZIP64, data descriptors, extra fields, comments or encryption;
//! times are 1980-01-01; text is deflated, all else is stored as it is.

use std::io::Write;

use flate2::{Compression, Crc, write::DeflateEncoder};

/// Extensions of files that are text and worth packing.
const TEXT: &[&str] = &["csv", "geojson", "json", "pem", "svg", "toml", "txt", "xml"];
/// Level of deflate: fast, and level 6 makes text only a tenth smaller.
const LEVEL: u32 = 3;
/// Readers refuse an entry that unpacks to a hundred times its size; such a text is stored.
const RATIO: usize = 90;
const LOCAL: u32 = 0x0403_4b50;
const CENTRAL: u32 = 0x0201_4b50;
const END: u32 = 0x0605_4b50;
const VERSION: u16 = 20;
/// 1980-01-01 in the form of DOS.
const DATE: u16 = 0x0021;
const STORED: u16 = 0;
const DEFLATED: u16 = 8;

/// A ZIP file in the making. Names come in rising order; the caller keeps the limits of the form.
#[derive(Default)]
pub(super) struct ZipWriter {
    bytes: Vec<u8>,
    directory: Vec<u8>,
    count: u16,
}

impl ZipWriter {
    /// Adds a file.
    pub(super) fn add(&mut self, name: &str, data: &[u8]) {
        let packed = packed(name, data);
        let (method, content) = match &packed {
            Some(packed) => (DEFLATED, packed.as_slice()),
            None => (STORED, data),
        };
        let mut crc = Crc::new();
        crc.update(data);
        let mut common = Vec::with_capacity(26);
        for value in [VERSION, 0, method, 0, DATE] {
            common.extend_from_slice(&value.to_le_bytes());
        }
        for value in [crc.sum(), content.len() as u32, data.len() as u32] {
            common.extend_from_slice(&value.to_le_bytes());
        }
        for value in [name.len() as u16, 0] {
            common.extend_from_slice(&value.to_le_bytes());
        }
        let offset = self.bytes.len() as u32;
        self.directory.extend_from_slice(&CENTRAL.to_le_bytes());
        self.directory.extend_from_slice(&VERSION.to_le_bytes());
        self.directory.extend_from_slice(&common);
        self.directory.extend_from_slice(&[0; 10]);
        self.directory.extend_from_slice(&offset.to_le_bytes());
        self.directory.extend_from_slice(name.as_bytes());
        self.bytes.extend_from_slice(&LOCAL.to_le_bytes());
        self.bytes.extend_from_slice(&common);
        self.bytes.extend_from_slice(name.as_bytes());
        self.bytes.extend_from_slice(content);
        self.count += 1;
    }

    /// Everything written so far, which the last entry signs.
    pub(super) fn written(&self) -> &[u8] {
        &self.bytes
    }

    /// Adds the directory and returns the file.
    pub(super) fn finish(self) -> Vec<u8> {
        let Self {
            mut bytes,
            directory,
            count,
        } = self;
        let (size, start) = (directory.len() as u32, bytes.len() as u32);
        bytes.extend_from_slice(&directory);
        bytes.extend_from_slice(&END.to_le_bytes());
        bytes.extend_from_slice(&[0; 4]);
        bytes.extend_from_slice(&count.to_le_bytes());
        bytes.extend_from_slice(&count.to_le_bytes());
        bytes.extend_from_slice(&size.to_le_bytes());
        bytes.extend_from_slice(&start.to_le_bytes());
        bytes.extend_from_slice(&[0; 2]);
        bytes
    }
}

/// Deflated content, where that is worth it.
fn packed(name: &str, data: &[u8]) -> Option<Vec<u8>> {
    let extension = name.rsplit_once('.').map_or("", |(_, extension)| extension);
    if !TEXT.contains(&extension.to_ascii_lowercase().as_str()) {
        return None;
    }
    let mut encoder =
        DeflateEncoder::new(Vec::with_capacity(data.len() / 4), Compression::new(LEVEL));
    encoder.write_all(data).ok()?;
    let packed = encoder.finish().ok()?;
    let worth = packed.len() < data.len() && data.len() <= packed.len().saturating_mul(RATIO);
    worth.then_some(packed)
}
