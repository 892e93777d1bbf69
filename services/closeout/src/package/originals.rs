//! Untouched originals: attachments and native cure logs, as they were filed.
//!
//! What is too large for a package, or about residents in one that names nobody, stays on the server.
//! It is listed all the same, with its digest and size, and said to be kept there.

use std::collections::{BTreeMap, BTreeSet};

use obvert_ledger::{Ledger, Stored};
use obvert_proto::{Problem, common::v1::Reason};
use obvert_records::{blob_refusal, names};
use serde_json::{Value, json};

use super::{
    Sources, Terms, redaction,
    words::{counted, counts},
};
use crate::{load::Loaded, segment_file::SegmentFile};

/// Longest file name that is kept.
const NAME_CHARS: usize = 50;

/// One original.
pub(super) struct Original {
    /// Record that tells of it: an attachment or a cure record.
    pub(super) record: String,
    pub(super) file_name: String,
    pub(super) size_bytes: i64,
    /// Path in the package; none when it stays on the server.
    pub(super) path: Option<String>,
    /// Why it stays on the server.
    pub(super) kept: Option<Kept>,
    /// SHA-256 in lower-case hexadecimal.
    pub(super) sha256: String,
}

/// Why an original stays on the server.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kept {
    /// The originals before it left too little room for it.
    TooLarge,
    /// It is about residents, and the package names nobody.
    Residents,
}

impl Kept {
    /// The same as a word of a file.
    fn word(self) -> &'static str {
        match self {
            Self::TooLarge => "too-large",
            Self::Residents => "about-residents",
        }
    }
}

/// Originals of a segment, in order of their records' names.
pub(super) fn originals(loaded: &Loaded, terms: Terms) -> Vec<Original> {
    let file = &loaded.file;
    let foreign = foreign(file);
    let mut listed: BTreeMap<&str, (&str, &str, i64, bool)> = BTreeMap::new();
    for attachment in &file.attachments {
        let ties = Ties::of(&attachment.name, &loaded.gathered.records);
        if ties.is_own(&foreign) {
            let a = &attachment.message;
            let residents = !terms.with_people && ties.about_residents();
            listed.insert(
                &attachment.name,
                (&a.file_name, &a.sha256, a.size_bytes, residents),
            );
        }
    }
    for log in &file.cure_records {
        listed.insert(
            &log.name,
            (&log.file_name, &log.file_sha256, log.file_size_bytes, false),
        );
    }
    let mut left = terms.originals_bytes;
    let listed = listed.into_iter();
    let all = listed.map(|(record, (file_name, sha256, size_bytes, residents))| {
        let kept = match (residents, size_bytes <= left) {
            (true, _) => Some(Kept::Residents),
            (false, false) => Some(Kept::TooLarge),
            (false, true) => None,
        };
        if kept.is_none() {
            left -= size_bytes;
        }
        Original {
            record: record.to_owned(),
            file_name: file_name.to_owned(),
            size_bytes,
            path: kept.is_none().then(|| path(record, file_name)),
            kept,
            sha256: sha256.to_owned(),
        }
    });
    all.collect()
}

/// How many are enclosed and how many are not, as a label of the bag says it.
pub(super) fn in_words(originals: &[Original]) -> String {
    let kept = originals.iter().filter(|o| o.kept.is_some()).count();
    if originals.is_empty() {
        return "none".to_owned();
    }
    counts([
        (originals.len() - kept, "enclosed"),
        (kept, "kept by the server"),
    ])
}

/// How many are not enclosed, why, and where they are; nothing when all are.
pub(super) fn kept_in_words(originals: &[Original], terms: Terms) -> Option<String> {
    let of = |why: Kept| {
        let those = originals.iter().filter(move |o| o.kept == Some(why));
        (
            those.clone().count(),
            those.map(|o| o.size_bytes).sum::<i64>(),
        )
    };
    let ((large, bytes), (residents, _)) = (of(Kept::TooLarge), of(Kept::Residents));
    if large + residents == 0 {
        return None;
    }
    let kept = counted(large + residents, "original is", "originals are");
    let mut words = format!("{kept} not in this package and kept by the server:");
    if large > 0 {
        let limit = terms.originals_bytes;
        words.push_str(&format!(
            " {large} of {bytes} bytes together, as all originals of a package take {limit} bytes \
             at most;"
        ));
    }
    if residents > 0 {
        words.push_str(&format!(
            " {residents} about residents, as this package names nobody;"
        ));
    }
    words.push_str(" data/originals.json lists each with its size and SHA-256.");
    Some(words)
}

/// All originals, as a file.
pub(super) fn file(originals: &[Original]) -> Value {
    let one = |o: &Original| {
        json!({
            "record": o.record,
            "fileName": o.file_name,
            "sizeBytes": o.size_bytes,
            "sha256": o.sha256,
            "file": o.path,
            "keptByServer": o.kept.map(Kept::word),
        })
    };
    json!({"originals": originals.iter().map(one).collect::<Vec<_>>()})
}

/// Reads every blob that a package needs: originals, and the series of its cure logs.
pub(super) async fn read(
    ledger: &Ledger,
    loaded: &Loaded,
    terms: Terms,
) -> Result<BTreeMap<String, bytes::Bytes>, Problem> {
    let originals = originals(loaded, terms)
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

/// Enclosed originals whose record, or one that names them, states a person that was left out: the
/// original is as it was filed, so it may name that person all the same. Each with those records.
pub(super) fn may_name<'a>(
    originals: &'a [Original],
    sources: &'a Sources,
) -> Vec<(&'a Original, Vec<&'a str>)> {
    let left_out: BTreeSet<&str> = sources.redactions.iter().map(|r| r.name.as_str()).collect();
    let records = &sources.loaded.gathered.records;
    let enclosed = originals.iter().filter(|original| original.path.is_some());
    let told = enclosed.map(|original| {
        let naming = Ties::of(&original.record, records).naming;
        let naming = naming.into_iter().map(|stored| stored.name.as_str());
        let telling: BTreeSet<&str> = naming.chain([original.record.as_str()]).collect();
        let telling = telling.intersection(&left_out).copied().collect();
        (original, telling)
    });
    let told: Vec<(_, Vec<&str>)> = told.collect();
    let some = told.into_iter().filter(|(_, telling)| !telling.is_empty());
    some.collect()
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

/// What a file is tied to: records that name it, and names of records that it is about.
struct Ties<'a> {
    naming: Vec<&'a Stored>,
    subjects: &'a [String],
}

impl<'a> Ties<'a> {
    fn of(attachment: &str, records: &'a [Stored]) -> Self {
        let names_it = |s: &&Stored| s.refers.iter().any(|name| name == attachment);
        let own = records.iter().find(|stored| stored.name == attachment);
        Self {
            naming: records.iter().filter(names_it).collect(),
            subjects: own.map_or(&[], |own| &own.refers),
        }
    }

    /// Whether it is about more than records of other segments.
    fn is_own(&self, foreign: &BTreeSet<&str>) -> bool {
        let naming = self.naming.iter().map(|stored| &stored.name);
        let mut tied = naming.chain(self.subjects).peekable();
        tied.peek().is_none() || tied.any(|name| !foreign.contains(name.as_str()))
    }

    fn about_residents(&self) -> bool {
        self.naming
            .iter()
            .any(|stored| redaction::about_residents(stored))
            || self
                .subjects
                .iter()
                .any(|name| redaction::names_residents(name))
    }
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
