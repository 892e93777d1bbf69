//! Untouched originals: attachments and native cure logs, as they were filed.

use std::collections::{BTreeMap, BTreeSet};

use obvert_ledger::{Ledger, Stored};
use obvert_proto::{Problem, common::v1::Reason};
use obvert_records::{blob_refusal, names};

use super::Sources;
use crate::{load::Loaded, segment_file::SegmentFile};

/// Most that the originals of one package take; what comes after that stays on the server.
const ENCLOSED_BYTES: i64 = 120_000_000;
/// Longest file name that is kept.
const NAME_CHARS: usize = 50;

/// One original.
pub(super) struct Original {
    /// Record that tells of it: an attachment or a cure record.
    pub(super) record: String,
    /// Path in the package; none when it was too large to be enclosed.
    pub(super) path: Option<String>,
    /// SHA-256 in lower-case hexadecimal.
    pub(super) sha256: String,
}

/// Originals of a segment, in order of their records' names.
pub(super) fn originals(loaded: &Loaded) -> Vec<Original> {
    let file = &loaded.file;
    let foreign = foreign(file);
    let mut listed: BTreeMap<&str, (&str, &str, i64)> = BTreeMap::new();
    for attachment in &file.attachments {
        if is_own(&attachment.name, &loaded.gathered.records, &foreign) {
            let a = &attachment.message;
            listed.insert(&attachment.name, (&a.file_name, &a.sha256, a.size_bytes));
        }
    }
    for log in &file.cure_records {
        listed.insert(
            &log.name,
            (&log.file_name, &log.file_sha256, log.file_size_bytes),
        );
    }
    let mut left = ENCLOSED_BYTES;
    let original = |(record, (file_name, sha256, size)): (&str, (&str, &str, i64))| {
        let fits = size <= left;
        if fits {
            left -= size;
        }
        Original {
            record: record.to_owned(),
            path: fits.then(|| path(record, file_name)),
            sha256: sha256.to_owned(),
        }
    };
    listed.into_iter().map(original).collect()
}

/// Reads every blob that a package needs: originals, and the series of its cure logs.
pub(super) async fn read(
    ledger: &Ledger,
    loaded: &Loaded,
) -> Result<BTreeMap<String, bytes::Bytes>, Problem> {
    let originals = originals(loaded)
        .into_iter()
        .filter(|original| original.path.is_some());
    let mut wanted: BTreeSet<String> = originals.map(|original| original.sha256).collect();
    let logs = loaded.file.cure_records.iter();
    wanted.extend(
        logs.map(|log| log.series_sha256.clone())
            .filter(|sha256| !sha256.is_empty()),
    );
    let mut blobs = BTreeMap::new();
    for sha256 in wanted {
        let lost = || {
            let message = format!("the stored file {sha256} is missing: restore it from a backup");
            Problem::new(Reason::StoreCorrupt, message).fact("sha256", &sha256)
        };
        let digest = digest_of(&sha256).ok_or_else(lost)?;
        let bytes = ledger
            .blobs()
            .get(digest)
            .await
            .map_err(blob_refusal)?
            .ok_or_else(lost)?;
        blobs.insert(sha256, bytes);
    }
    Ok(blobs)
}

/// Adds the originals that fit.
pub(super) fn add(
    files: &mut BTreeMap<String, Vec<u8>>,
    originals: &[Original],
    sources: &Sources,
) {
    for original in originals {
        if let (Some(path), Some(bytes)) = (&original.path, sources.blobs.get(&original.sha256)) {
            files.insert(path.clone(), bytes.to_vec());
        }
    }
}

/// Digest of its hexadecimal digits.
pub(super) fn digest_of(sha256: &str) -> Option<[u8; 32]> {
    let mut digest = [0; 32];
    if sha256.len() != 64 || !sha256.is_ascii() {
        return None;
    }
    for (place, byte) in digest.iter_mut().enumerate() {
        *byte = u8::from_str_radix(&sha256[2 * place..2 * place + 2], 16).ok()?;
    }
    Some(digest)
}

/// Names of records that are about other segments and came along.
fn foreign(file: &SegmentFile) -> BTreeSet<&str> {
    let reports = file.other_reports.iter().map(|kept| kept.name.as_str());
    let compared = |name| file.standings.get(name).and_then(|s| s.by.as_ref());
    let checks = reports
        .filter_map(compared)
        .map(|by| by.record.name.as_str());
    let runs = file.other_runs.iter().map(|kept| kept.name.as_str());
    let samples = file.other_samples.iter().map(|kept| kept.name.as_str());
    let reports = file.other_reports.iter().map(|kept| kept.name.as_str());
    runs.chain(samples).chain(reports).chain(checks).collect()
}

/// Whether a file is about more than records of other segments.
fn is_own(attachment: &str, records: &[Stored], foreign: &BTreeSet<&str>) -> bool {
    let naming = records
        .iter()
        .filter(|s| s.refers.iter().any(|name| name == attachment))
        .map(|stored| stored.name.as_str());
    let own = records.iter().find(|stored| stored.name == attachment);
    let subjects = own.into_iter().flat_map(|own| own.refers.iter());
    let mut tied = naming.chain(subjects.map(String::as_str)).peekable();
    tied.peek().is_none() || tied.any(|name| !foreign.contains(name))
}

/// A path that every system can unpack: the record's id, then the file's own name made plain.
fn path(record: &str, file_name: &str) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() || "._-".contains(c) {
            c
        } else {
            '_'
        }
    };
    let name: String = file_name.chars().map(plain).collect();
    // The end of a name says what kind of file it is.
    let skip = name.len().saturating_sub(NAME_CHARS);
    let name = name[skip..].trim_matches('.');
    let (collection, id) =
        names::parse(record).map_or(("files", "file"), |parts| (parts.collection, parts.id));
    format!("data/originals/{collection}/{id}-{name}")
}
