//! The bag (RFC 8493, BagIt 1.0) around the payload, its signatures, and the ZIP around the bag.

use std::{collections::BTreeMap, fmt::Write};

use obvert_proto::{Problem, common::v1::Reason};
use sha2::{Digest, Sha256};

use super::{Built, PackageLimits, Signer, hex, zip_writer::ZipWriter};

/// Version of the package's form; readers refuse a newer one by name.
pub(super) const FORMAT: &str = "1";
const BAGIT: &str = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";

/// A bag before it is closed.
pub(super) struct Bag<'a> {
    /// Name of the top folder.
    pub(super) top: String,
    /// Payload by path, each beginning with `data/`.
    pub(super) payload: BTreeMap<String, Vec<u8>>,
    /// Labels and values of bag-info.txt, without the Payload-Oxum.
    pub(super) info: Vec<(&'static str, String)>,
    /// Text of HOW-TO-VERIFY.txt.
    pub(super) how_to_verify: String,
    pub(super) signer: &'a Signer,
    pub(super) limits: PackageLimits,
}

impl Bag<'_> {
    /// Lists, signs and packs everything.
    pub(super) fn sealed(self) -> Result<Built, Problem> {
        let Self {
            top,
            payload,
            info,
            how_to_verify,
            signer,
            limits,
        } = self;
        check_size(&payload, limits)?;
        let bytes: usize = payload.values().map(Vec::len).sum();
        let mut files = payload;
        let manifest = manifest(&files);
        let oxum = [("Payload-Oxum", format!("{bytes}.{}", files.len()))];
        let tags = BTreeMap::from([
            ("HOW-TO-VERIFY.txt".to_owned(), how_to_verify.into_bytes()),
            (
                "bag-info.txt".to_owned(),
                labelled(info.into_iter().chain(oxum)).into_bytes(),
            ),
            ("bagit.txt".to_owned(), BAGIT.as_bytes().to_vec()),
            ("manifest-sha256.txt".to_owned(), manifest.into_bytes()),
        ]);
        let tag_manifest = self::manifest(&tags).into_bytes();
        let tag_manifest_sha256 = hex(&Sha256::digest(&tag_manifest));
        let signature = signer.sign(&tag_manifest).to_vec();
        files.extend(tags);
        files.insert(
            "signature/signer.pem".to_owned(),
            signer.public_pem()?.into_bytes(),
        );
        files.insert("signature/tagmanifest-sha256.sig".to_owned(), signature);
        files.insert("tagmanifest-sha256.txt".to_owned(), tag_manifest);
        let mut zip = ZipWriter::default();
        for (path, data) in &files {
            zip.add(&format!("{top}/{path}"), data);
        }
        let whole: [u8; 32] = Sha256::digest(zip.written()).into();
        zip.add(
            &format!("{top}/signature/archive.sig"),
            &signer.sign(&whole),
        );
        Ok(Built {
            file_name: format!("{top}.zip"),
            bytes: zip.finish(),
            tag_manifest_sha256,
        })
    }
}

/// One row for each file: digest, two spaces, path.
fn manifest(files: &BTreeMap<String, Vec<u8>>) -> String {
    let mut text = String::new();
    for (path, data) in files {
        let _ = writeln!(text, "{}  {path}", hex(&Sha256::digest(data)));
    }
    text
}

/// Rows of bag-info.txt in order of labels; a value is one line.
fn labelled(info: impl Iterator<Item = (&'static str, String)>) -> String {
    let sorted: BTreeMap<_, _> = info.collect();
    let mut text = String::new();
    for (label, value) in sorted {
        let value = value.split_whitespace().collect::<Vec<_>>().join(" ");
        let _ = writeln!(text, "{label}: {value}");
    }
    text
}

fn check_size(payload: &BTreeMap<String, Vec<u8>>, limits: PackageLimits) -> Result<(), Problem> {
    let bytes: usize = payload.values().map(Vec::len).sum();
    let PackageLimits {
        entries,
        unpacked_bytes,
        ..
    } = limits;
    // Tag files and signatures take a few entries and less than a mebibyte.
    if bytes + (1 << 20) <= unpacked_bytes && payload.len() + 16 <= entries {
        return Ok(());
    }
    let message = format!(
        "the package would have {} files of {bytes} bytes together, a package takes {entries} \
         entries and {unpacked_bytes} bytes: ask the operator of the server what may be left out",
        payload.len()
    );
    Err(Problem::new(Reason::TooLarge, message)
        .fact("size_bytes", bytes)
        .fact("file_count", payload.len()))
}
