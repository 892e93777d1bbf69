//! Packages that somebody else made: any entries, in the form of packages, signed where wanted.

use std::{collections::BTreeMap, sync::LazyLock};

use ed25519_dalek::{
    Signer as _, SigningKey,
    pkcs8::{EncodePublicKey, spki::der::pem::LineEnding},
};
use sha2::{Digest, Sha256};

use super::sample::{files, hex, package};

/// One entry as its headers say it, whatever its bytes are.
#[derive(Clone)]
pub(crate) struct Entry {
    pub(crate) name: String,
    pub(crate) method: u16,
    pub(crate) size: u32,
    pub(crate) crc: u32,
    pub(crate) packed: Vec<u8>,
}

impl Entry {
    /// An entry that is stored as it is.
    pub(crate) fn stored(name: &str, data: &[u8]) -> Self {
        let mut crc = flate2::Crc::new();
        crc.update(data);
        Self {
            name: name.to_owned(),
            method: 0,
            size: data.len() as u32,
            crc: crc.sum(),
            packed: data.to_vec(),
        }
    }

    /// An entry that unpacks to so many zeros.
    pub(crate) fn zeros(name: &str, size: usize) -> Self {
        use std::io::Write;
        let data = vec![0; size];
        let best = flate2::Compression::best();
        let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), best);
        encoder.write_all(&data).unwrap();
        Self {
            method: 8,
            packed: encoder.finish().unwrap(),
            ..Self::stored(name, &data)
        }
    }

    /// Version to extra length, as both headers have them.
    fn common(&self) -> Vec<u8> {
        let halves = [20, 0, self.method, 0, 0x21].map(u16::to_le_bytes);
        let words = [self.crc, self.packed.len() as u32, self.size].map(u32::to_le_bytes);
        let lengths = [self.name.len() as u16, 0].map(u16::to_le_bytes);
        [
            halves.as_flattened(),
            words.as_flattened(),
            lengths.as_flattened(),
        ]
        .concat()
    }
}

/// Local entries one after another.
fn local(entries: &[Entry]) -> Vec<u8> {
    let mut out = Vec::new();
    for entry in entries {
        out.extend_from_slice(b"PK\x03\x04");
        out.extend(entry.common());
        out.extend_from_slice(entry.name.as_bytes());
        out.extend_from_slice(&entry.packed);
    }
    out
}

/// A ZIP in the form of packages.
pub(crate) fn packed(entries: &[Entry]) -> Vec<u8> {
    let mut out = local(entries);
    let start = out.len() as u32;
    let mut offset = 0;
    for entry in entries {
        out.extend_from_slice(b"PK\x01\x02\x14\0");
        out.extend(entry.common());
        out.extend_from_slice(&[0; 10]);
        out.extend_from_slice(&(offset as u32).to_le_bytes());
        out.extend_from_slice(entry.name.as_bytes());
        offset += 30 + entry.name.len() + entry.packed.len();
    }
    let (size, count) = (out.len() as u32 - start, entries.len() as u16);
    out.extend_from_slice(b"PK\x05\x06\0\0\0\0");
    out.extend_from_slice([count, count].map(u16::to_le_bytes).as_flattened());
    out.extend_from_slice([size, start].map(u32::to_le_bytes).as_flattened());
    out.extend_from_slice(&[0; 2]);
    out
}

/// The sample's package with one tag file of other bytes, its lists and signatures made right again.
pub(crate) fn signed_again(path: &str, data: &[u8]) -> Vec<u8> {
    signed_by(&SigningKey::from_bytes(&[7; 32]), path, data)
}

/// The same with a key of somebody else's.
pub(crate) fn signed_by(key: &SigningKey, path: &str, data: &[u8]) -> Vec<u8> {
    static FILES: LazyLock<BTreeMap<String, Vec<u8>>> = LazyLock::new(|| files(&package()));
    let mut all = FILES.clone();
    all.insert(path.to_owned(), data.to_vec());
    let pem = key
        .verifying_key()
        .to_public_key_pem(LineEnding::LF)
        .unwrap();
    all.insert("signature/signer.pem".into(), pem.into_bytes());
    let listed = [
        "HOW-TO-VERIFY.txt",
        "bag-info.txt",
        "bagit.txt",
        "manifest-sha256.txt",
    ];
    let rows = listed.map(|path| format!("{}  {path}\n", hex(&all[path])));
    signed(key, all, rows.concat())
}

fn signed(key: &SigningKey, mut all: BTreeMap<String, Vec<u8>>, tag_manifest: String) -> Vec<u8> {
    let signature = key.sign(tag_manifest.as_bytes()).to_bytes();
    all.insert(
        "signature/tagmanifest-sha256.sig".into(),
        signature.to_vec(),
    );
    all.insert("tagmanifest-sha256.txt".into(), tag_manifest.into_bytes());
    all.remove("signature/archive.sig");
    let entries = all
        .iter()
        .map(|(path, data)| Entry::stored(&format!("s-1/{path}"), data));
    let mut entries: Vec<_> = entries.collect();
    let before: [u8; 32] = Sha256::digest(local(&entries)).into();
    let whole = key.sign(&before).to_bytes();
    entries.push(Entry::stored("s-1/signature/archive.sig", &whole));
    packed(&entries)
}
