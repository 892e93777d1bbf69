//! A thousand alterations of a journal and of an access log, each noticed and named against a
//! checkpoint that lies elsewhere.

use super::frames::{HEADER_BYTES, Volume, frames};
use crate::ledger::support::{PROJECT, close, draft, entry, first_volume, open, run};
use obvert_ledger::tools::{Known, verify_chains};
use obvert_ledger::{Draft, Log};
use rand::{RngExt, SeedableRng, rngs::StdRng};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use tempfile::{TempDir, tempdir};

const OTHER_PROJECT: &str = "quillfern";
const LOG: &str = "@access-log";
const COMMITS: usize = 40;
/// Alterations of each kind and file.
const EACH: usize = 100;

/// A file that was stopped in order, and what is known of it elsewhere.
struct Original {
    folder: TempDir,
    bytes: Vec<u8>,
    known: Vec<Known>,
}

impl Original {
    fn of(folder: TempDir) -> Self {
        let report = verify_chains(folder.path(), &[]).unwrap();
        assert!(report.closed && report.findings.is_empty(), "{report:?}");
        let known = report.heads.into_iter().map(|(project, head)| Known {
            project,
            revision: head.revision,
            sha256: head.hash,
        });
        let bytes = fs::read(first_volume(folder.path())).unwrap();
        Self {
            known: known.collect(),
            bytes,
            folder,
        }
    }

    /// Asserts that the altered file is refused, and that the refusal names a place in it.
    fn refuses(&self, altered: &[u8], what: &str) {
        assert_ne!(altered, self.bytes, "{what} altered nothing");
        fs::write(first_volume(self.folder.path()), altered).unwrap();
        let report = verify_chains(self.folder.path(), &self.known).unwrap();
        let first = report
            .findings
            .first()
            .unwrap_or_else(|| panic!("{what} was not noticed"));
        let offset = first.place.strip_prefix("volume 1 byte ").unwrap();
        let offset: usize = offset.parse().unwrap();
        assert!(offset <= altered.len(), "{what}: {first:?}");
        assert!(!first.what.is_empty(), "{what}: {first:?}");
        // Of a frame whose checksum is wrong the name is what its damaged bytes say.
        let damaged = first.what.contains("CRC-32C");
        if let Some(revision) = first.revision.as_ref().filter(|_| !damaged) {
            let named = revision.trim_start_matches("after ");
            let (project, number) = named.rsplit_once('@').unwrap();
            let known = [PROJECT, OTHER_PROJECT, LOG].contains(&project);
            assert!(known, "{what}: {first:?}");
            assert!(number.parse::<i64>().is_ok(), "{what}: {first:?}");
        }
    }
}

fn journal() -> Original {
    let folder = tempdir().unwrap();
    run(async {
        let ledger = open(folder.path()).await;
        for number in 0..COMMITS {
            let record = format!("segments/s{number}");
            let mut new = entry(&record, &format!("{number} {}", "w".repeat(60)), &[], &[]);
            let mut project = PROJECT;
            if number % 3 == 0 {
                project = OTHER_PROJECT;
                new.name = format!("projects/{OTHER_PROJECT}/{record}");
            }
            let draft = Draft {
                project: project.into(),
                ..draft(vec![new])
            };
            ledger.commit(draft).await.unwrap();
        }
        close(ledger).await;
    });
    Original::of(folder)
}

fn access_log() -> Original {
    let folder = tempdir().unwrap();
    let mut log = Log::open(folder.path(), LOG).unwrap();
    for number in 0..COMMITS as i64 {
        let body = format!("event {number} {}", "v".repeat(60)).into_bytes();
        log.append("obvert.common.v1.AccessEvents", body.into(), number)
            .unwrap();
    }
    log.close();
    Original::of(folder)
}

/// Two different places of commits of one project.
fn pair(volume: &Volume, random: &mut StdRng) -> (usize, usize) {
    loop {
        let (a, b) = (place(volume, random), place(volume, random));
        if a != b && volume.decoded(a).project == volume.decoded(b).project {
            return (a, b);
        }
    }
}

fn place(volume: &Volume, random: &mut StdRng) -> usize {
    random.random_range(0..volume.commits.len())
}

/// Bytes of the mark that a clean stop leaves.
const CLOSED_MARK_BYTES: usize = 21;

fn edited(original: &Original, random: &mut StdRng, skilled: bool) -> Vec<u8> {
    if skilled {
        let mut volume = Volume::read(&original.bytes);
        let place = place(&volume, random);
        let mut commit = volume.decoded(place);
        commit.reason = format!("{} altered", commit.reason);
        volume.commits[place] = prost::Message::encode_to_vec(&commit);
        return volume.bytes();
    }
    let mut bytes = original.bytes.clone();
    let at = random.random_range(0..bytes.len());
    bytes[at] ^= random.random_range(1..=255_u8);
    bytes
}

fn dropped(original: &Original, random: &mut StdRng, skilled: bool) -> Vec<u8> {
    let mut volume = Volume::read(&original.bytes);
    let place = place(&volume, random);
    if skilled {
        volume.commits.remove(place);
        return volume.bytes();
    }
    let mut bytes = original.bytes.clone();
    let frames = frames(&bytes);
    let (_, payload) = &frames[random.random_range(0..frames.len() - 1)];
    bytes.drain(payload.start - 13..payload.end);
    bytes
}

fn reordered(original: &Original, random: &mut StdRng, skilled: bool) -> Vec<u8> {
    let mut volume = Volume::read(&original.bytes);
    if skilled {
        let (a, b) = pair(&volume, random);
        volume.commits.swap(a, b);
        return volume.bytes();
    }
    let frames = frames(&original.bytes);
    let a = random.random_range(0..frames.len() - 1);
    let b = random.random_range(a + 1..frames.len());
    let mut order: Vec<_> = frames.iter().map(|(_, p)| p.start - 13..p.end).collect();
    order.swap(a, b);
    let parts = order.into_iter().map(|range| &original.bytes[range]);
    let mut bytes = original.bytes[..HEADER_BYTES].to_vec();
    bytes.extend(parts.flatten());
    bytes
}

fn truncated(original: &Original, random: &mut StdRng, skilled: bool) -> Vec<u8> {
    if skilled {
        let mut volume = Volume::read(&original.bytes);
        let keep = place(&volume, random);
        volume.commits.truncate(keep);
        return volume.bytes();
    }
    let end = original.bytes.len() - CLOSED_MARK_BYTES;
    original.bytes[..random.random_range(0..end)].to_vec()
}

fn forged(original: &Original, random: &mut StdRng, shorter: bool) -> Vec<u8> {
    let mut volume = Volume::read(&original.bytes);
    let place = place(&volume, random);
    volume.forge(place, |commit| {
        commit.reason = "never given".into();
        commit.entries[0].body = b"another value".as_slice().into();
    });
    if shorter {
        let keep = random.random_range(place + 1..=volume.commits.len());
        volume.commits.truncate(keep);
    }
    volume.bytes()
}

#[test]
fn a_thousand_alterations_of_journal_and_access_log_are_noticed_and_named() {
    type Alteration = fn(&Original, &mut StdRng, bool) -> Vec<u8>;
    let kinds: [(&str, Alteration); 5] = [
        ("an edit", edited),
        ("a drop", dropped),
        ("another order", reordered),
        ("a cut", truncated),
        ("a forged tail", forged),
    ];
    let mut random = StdRng::seed_from_u64(20_261_125);
    let mut done = 0;
    for (file, original) in [("journal", journal()), ("access log", access_log())] {
        for (kind, alter) in kinds {
            for round in 0..EACH {
                let altered = alter(&original, &mut random, round % 2 == 0);
                original.refuses(&altered, &format!("{kind} of the {file}, round {round}"));
                done += 1;
            }
        }
        fs::write(first_volume(original.folder.path()), &original.bytes).unwrap();
        let again = verify_chains(original.folder.path(), &original.known).unwrap();
        assert_eq!(again.findings, vec![], "the {file} itself is as written");
    }
    assert_eq!(done, 1_000);
}

#[test]
fn a_forged_tail_is_consistent_in_itself_and_only_a_checkpoint_tells() {
    let original = journal();
    let mut random = StdRng::seed_from_u64(7);
    let bytes = forged(&original, &mut random, false);
    fs::write(first_volume(original.folder.path()), &bytes).unwrap();
    assert_eq!(
        verify_chains(original.folder.path(), &[]).unwrap().findings,
        vec![]
    );
    let found = verify_chains(original.folder.path(), &original.known).unwrap();
    let named: BTreeMap<_, _> = found
        .findings
        .iter()
        .map(|finding| (finding.revision.clone().unwrap(), finding.what.clone()))
        .collect();
    assert_eq!(
        named.len(),
        1,
        "only the forged project is named: {named:?}"
    );
    assert!(
        named.values().all(|what| what.contains("written anew")),
        "{named:?}"
    );
}

#[test]
fn a_journal_that_is_gone_is_told_by_a_checkpoint() {
    let original = access_log();
    fs::remove_file(first_volume(original.folder.path())).unwrap();
    let found = verify_chains(original.folder.path(), &original.known).unwrap();
    let [finding] = found.findings.as_slice() else {
        panic!("{found:?}")
    };
    assert_eq!(finding.revision.as_deref(), Some("@access-log@40"));
    assert!(finding.what.contains("cut off"), "{finding:?}");
}

#[test]
fn an_earlier_checkpoint_says_up_to_where_the_chain_is_the_one_that_was_written() {
    let original = access_log();
    let volume = Volume::read(&original.bytes);
    let early = Known {
        project: LOG.into(),
        revision: 10,
        sha256: sha256(&volume.commits[9]),
    };
    let mut forged = volume.clone();
    forged.forge(20, |commit| commit.reason = "never given".into());
    fs::write(first_volume(original.folder.path()), forged.bytes()).unwrap();
    let known = [vec![early], original.known.clone()].concat();
    let found = verify_chains(original.folder.path(), &known).unwrap();
    let what = &found.findings[0].what;
    assert!(what.ends_with("somewhere after @access-log@10"), "{what}");
}

#[test]
fn a_log_goes_on_where_it_ended_after_a_stop_and_after_an_unfinished_write() {
    let folder = tempdir().unwrap();
    let append = |log: &mut Log| log.append("t", vec![1, 2].into(), 5).unwrap().revision;
    let mut log = Log::open(folder.path(), LOG).unwrap();
    assert_eq!((append(&mut log), append(&mut log)), (1, 2));
    log.close();
    let volume = first_volume(folder.path());
    let whole = fs::read(&volume).unwrap();
    fs::write(&volume, &whole[..whole.len() - CLOSED_MARK_BYTES - 3]).unwrap();
    let mut log = Log::open(folder.path(), LOG).unwrap();
    assert_eq!(append(&mut log), 2, "what was not finished is set aside");
    log.close();
    let found = verify_chains(folder.path(), &[]).unwrap();
    assert_eq!((found.commits, found.findings), (2, vec![]));
    assert!(Path::new(&folder.path().join("quarantine")).is_dir());
}

fn sha256(bytes: &[u8]) -> [u8; 32] {
    <sha2::Sha256 as sha2::Digest>::digest(bytes).into()
}
