//! Verification of a package, offline: every byte of the file is either checked or refused.
//!
//! 1. [`zip_reader`] takes the file apart by hand: local entries from the first byte on without a
//!    gap, then exactly the directory that those entries imply, then nothing.
//! 2. [`bag`] looks whether the package says that it is of a newer form, and refuses it by that name.
//! 3. [`signature`] holds the signer's key against two signatures: one over all bytes before the
//!    last entry, one over the list of digests.
//! 4. [`bag`] holds every file against that list, both ways round.
//!
//! The reader knows only the form that the server writes. A file that another program packed again
//! is refused even when its content is the same: what it carries besides is not accounted for.

mod bag;
mod signature;
mod zip_reader;

use std::{collections::BTreeMap, fmt, path::Path};

use serde::Serialize;

use crate::{Exit, Failure};

/// Largest file that is read, in bytes: the limit of what it may unpack to, and its directory.
const FILE_BYTES: u64 = zip_reader::UNPACKED_BYTES as u64 + (1 << 20);

/// What a package that was verified says of itself.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Verified {
    /// Full name of the segment.
    pub segment: String,
    /// Owner's identifier of the segment.
    pub owner_segment_id: String,
    /// Revision of the project that the package shows.
    pub revision: String,
    /// SHA-256 of the project's commit at that revision, as `obvertd audit verify` compares it.
    pub chain_sha256: String,
    /// Plan and revision that it was judged by.
    pub plan: String,
    /// How the segment stood, in words.
    pub verdict: String,
    /// Package that it replaces, with its revision; "none" for the first.
    pub replaces: String,
    /// Whether it says who took part.
    pub personal_data: String,
    /// Originals enclosed, and those that the server keeps.
    pub originals: String,
    /// Payload files.
    pub file_count: usize,
    /// Bytes of the payload.
    pub payload_bytes: usize,
    /// SHA-256 of the signer's raw public key, in lower-case hexadecimal.
    pub signer_fingerprint: String,
    /// Whether the signer is the one that was asked for; false when no key was given.
    pub signer_checked: bool,
}

/// Verifies a package file. `key` is a PEM file with the signer's public key, or its fingerprint.
///
/// # Errors
///
/// [`Exit::VerificationFailed`] naming file and offset when anything is not as it was signed, or
/// the signer is another one; [`Exit::NotFound`] or [`Exit::Failure`] when the file cannot be read.
pub fn verify_file(path: &Path, key: Option<&str>) -> Result<Verified, Failure> {
    verify_bytes(path, &read(path)?, key)
}

/// Verifies the bytes of a package; `path` is what a failure calls it.
///
/// # Errors
///
/// As [`verify_file`].
pub fn verify_bytes(path: &Path, bytes: &[u8], key: Option<&str>) -> Result<Verified, Failure> {
    let expected = key.map(signature::expected).transpose()?;
    checked(bytes, expected.as_deref()).map_err(|damage| damage.failure(path))
}

/// A verified package's own statement, and its payload by path.
pub(crate) type Opened = (Verified, BTreeMap<String, Vec<u8>>);

/// Verifies a package file without a key and gives its payload.
pub(crate) fn open(path: &Path) -> Result<Opened, Failure> {
    let bytes = read(path)?;
    let verified = verify_bytes(path, &bytes, None)?;
    let archive = zip_reader::read(&bytes).map_err(|damage| damage.failure(path))?;
    let inside = |entry: zip_reader::Entry| {
        let (_, path) = entry.name.split_once('/')?;
        path.starts_with("data/")
            .then(|| (path.to_owned(), entry.data))
    };
    Ok((
        verified,
        archive.entries.into_iter().filter_map(inside).collect(),
    ))
}

/// Something in a package that is not as it was signed.
#[derive(Debug)]
struct Damage {
    /// Where in the file it lies, in bytes from its start.
    offset: usize,
    /// Path inside the package; empty where no entry is concerned.
    entry: String,
    what: String,
    /// Whether it says that it is of a form that this program does not know yet.
    newer: bool,
}

impl Damage {
    fn new(offset: usize, entry: impl Into<String>, what: impl Into<String>) -> Self {
        let (entry, what) = (entry.into(), what.into());
        Self {
            offset,
            entry,
            what,
            newer: false,
        }
    }

    fn newer(offset: usize, entry: impl Into<String>, what: impl Into<String>) -> Self {
        Self {
            newer: true,
            ..Self::new(offset, entry, what)
        }
    }

    fn failure(self, path: &Path) -> Failure {
        let file = path.display();
        let message = if self.newer {
            format!(
                "{file} says that it is of a newer form: verify it with a newer obvert; nothing of \
                 it was checked"
            )
        } else {
            format!("{file} is not the package that was signed; ask for it again")
        };
        let mut failure = Failure::new(Exit::VerificationFailed, message);
        let place = if self.entry.is_empty() {
            file.to_string()
        } else {
            self.entry
        };
        failure
            .places
            .push((format!("{place} at byte {}", self.offset), self.what));
        failure
    }
}

fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let failed = |error: std::io::Error| Failure::file(path, &error);
    let size = std::fs::metadata(path).map_err(failed)?.len();
    if size > FILE_BYTES {
        let what = format!("the file has {size} bytes, a package has at most {FILE_BYTES}");
        return Err(Damage::new(0, "", what).failure(path));
    }
    std::fs::read(path).map_err(failed)
}

fn checked(bytes: &[u8], expected: Option<&str>) -> Result<Verified, Damage> {
    let archive = zip_reader::read(bytes)?;
    bag::refuse_newer(&archive)?;
    let layout = bag::layout(&archive)?;
    let fingerprint = signature::check(bytes, &archive, &layout)?;
    let contents = bag::check(&layout)?;
    if let Some(expected) = expected
        && expected != fingerprint
    {
        let entry = layout.required("signature/signer.pem")?;
        let what = format!("it was signed by {fingerprint}, you asked for {expected}");
        return Err(Damage::new(entry.offset, &entry.name, what));
    }
    Ok(Verified {
        segment: contents.info("Obvert-Segment"),
        owner_segment_id: contents.info("Obvert-Owner-Segment"),
        revision: contents.info("Obvert-Revision"),
        chain_sha256: contents.info("Obvert-Chain-SHA256"),
        plan: contents.info("Obvert-Plan"),
        verdict: contents.info("Obvert-Verdict"),
        replaces: contents.info("Obvert-Replaces"),
        personal_data: contents.info("Obvert-Personal-Data"),
        originals: contents.info("Obvert-Originals"),
        file_count: contents.file_count,
        payload_bytes: contents.payload_bytes,
        signer_fingerprint: fingerprint,
        signer_checked: expected.is_some(),
    })
}

impl fmt::Display for Verified {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (id, segment, revision) = (&self.owner_segment_id, &self.segment, &self.revision);
        writeln!(f, "segment      {id} ({segment})")?;
        writeln!(f, "revision     {revision}")?;
        writeln!(f, "chain        {}", self.chain_sha256)?;
        writeln!(f, "judged by    {}", self.plan)?;
        writeln!(f, "verdict      {}", self.verdict)?;
        writeln!(f, "replaces     {}", self.replaces)?;
        writeln!(f, "people       {}", self.personal_data)?;
        writeln!(f, "originals    {}", self.originals)?;
        writeln!(
            f,
            "files        {}, {} bytes",
            self.file_count, self.payload_bytes
        )?;
        writeln!(f, "fingerprint  {}", self.signer_fingerprint)?;
        if self.signer_checked {
            f.write_str("intact; signed by the key you named")
        } else {
            f.write_str("intact; signer not checked")
        }
    }
}
