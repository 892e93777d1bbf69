//! Bits that flip in the journal: each is noticed, and named with volume and byte.

use super::support::{PROJECT, close, config, copy_folder, first_volume, open, run, write};
use obvert_ledger::{Ledger, LedgerError, OpenError, tools};
use rand::{RngExt, SeedableRng, rngs::StdRng};
use std::fs;
use std::os::unix::fs::FileExt;
use std::path::Path;
use tempfile::tempdir;

/// Bytes of the mark a clean stop leaves.
const CLOSED_MARK_BYTES: usize = 21;

async fn written(folder: &Path, commits: usize, body_bytes: usize) {
    let ledger = open(folder).await;
    for number in 0..commits {
        let body = format!("{number} {}", "w".repeat(body_bytes));
        write(&ledger, &format!("segments/s{number}"), &body)
            .await
            .unwrap();
    }
    close(ledger).await;
}

fn flip(file: &fs::File, bit: usize) {
    let mut byte = [0];
    file.read_exact_at(&mut byte, bit as u64 / 8).unwrap();
    file.write_all_at(&[byte[0] ^ 1 << (bit % 8)], bit as u64 / 8)
        .unwrap();
}

fn writable(path: &Path) -> fs::File {
    fs::OpenOptions::new()
        .read(true)
        .write(true)
        .open(path)
        .unwrap()
}

#[test]
fn every_flipped_bit_of_a_three_frame_journal_is_found_and_named() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 1, 20));
    let volume = first_volume(folder.path());
    let bits = fs::metadata(&volume).unwrap().len() as usize * 8;
    let file = writable(&volume);
    assert_eq!(tools::verify(folder.path()).unwrap().findings, vec![]);
    for bit in 0..bits {
        flip(&file, bit);
        let report = tools::verify(folder.path()).unwrap();
        assert_eq!(report.findings.len(), 1, "bit {bit} of {bits}");
        assert!(
            report.findings[0].place.starts_with("volume 1 byte "),
            "bit {bit}"
        );
        flip(&file, bit);
    }
    assert_eq!(tools::verify(folder.path()).unwrap().findings, vec![]);
}

#[test]
fn a_flipped_bit_stops_the_start_unless_it_lies_in_an_unfinished_tail() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 1, 20));
    let bytes = fs::metadata(first_volume(folder.path())).unwrap().len() as usize;
    for bit in (0..bytes * 8).step_by(61) {
        let copy = tempdir().unwrap();
        copy_folder(folder.path(), copy.path());
        flip(&writable(&first_volume(copy.path())), bit);
        let opened = run(Ledger::open(config(copy.path())));
        if bit / 8 >= bytes - CLOSED_MARK_BYTES {
            let ledger = opened.unwrap();
            let aside = ledger.opening().quarantined.clone().unwrap();
            assert_eq!((aside.volume, aside.bytes), (1, CLOSED_MARK_BYTES as u64));
            assert_eq!(fs::metadata(aside.file).unwrap().len(), aside.bytes);
            assert_eq!(ledger.opening().commits, 1);
            run(close(ledger));
        } else {
            let Err(error) = opened else {
                panic!("bit {bit} was not noticed")
            };
            let OpenError::Corrupt { volume, .. } = error else {
                panic!("bit {bit}: {error}")
            };
            assert_eq!(volume, 1);
        }
    }
}

#[test]
fn a_thousand_random_bits_of_a_large_journal_are_found_where_they_are() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 400, 500));
    let volume = first_volume(folder.path());
    let bits = fs::metadata(&volume).unwrap().len() as usize * 8;
    let file = writable(&volume);
    let mut random = StdRng::seed_from_u64(20_260_101);
    for _ in 0..1000 {
        let bit = random.random_range(0..bits);
        flip(&file, bit);
        let report = tools::verify(folder.path()).unwrap();
        assert_eq!(report.findings.len(), 1, "bit {bit}");
        let place = report.findings[0]
            .place
            .strip_prefix("volume 1 byte ")
            .unwrap();
        let found: usize = place.parse().unwrap();
        assert!(
            found <= bit / 8 && bit / 8 < found + 2000,
            "bit {bit} was named at {found}"
        );
        flip(&file, bit);
    }
    assert_eq!(tools::verify(folder.path()).unwrap().findings, vec![]);
}

#[test]
fn a_commit_that_rots_under_an_open_ledger_is_refused_when_read() {
    run(async {
        let folder = tempdir().unwrap();
        written(folder.path(), 50, 100).await;
        let ledger = open(folder.path()).await;
        let file = writable(&first_volume(folder.path()));
        let bits = file.metadata().unwrap().len() as usize * 8;
        flip(&file, bits / 2);
        let mut refused = 0;
        for revision in 1..=50 {
            match ledger.commit_bytes(PROJECT.into(), revision).await {
                Ok(bytes) => assert!(bytes.is_some()),
                Err(LedgerError::Corrupt { volume, .. }) => refused += volume,
                Err(other) => panic!("{other}"),
            }
        }
        assert!(refused <= 1, "{refused} commits were refused");
        flip(&file, bits / 2);
        let report = tools::verify(folder.path()).unwrap();
        assert_eq!(report.findings, vec![]);
        close(ledger).await;
    });
}

#[test]
fn a_tail_cut_at_any_byte_is_set_aside_and_whole_groups_stay() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 2, 20));
    fs::remove_dir_all(folder.path().join("index")).unwrap();
    let whole = fs::read(first_volume(folder.path())).unwrap();
    let mut commits_seen = std::collections::BTreeSet::new();
    for length in (28..whole.len()).step_by(13) {
        let copy = tempdir().unwrap();
        copy_folder(folder.path(), copy.path());
        fs::write(first_volume(copy.path()), &whole[..length]).unwrap();
        run(async {
            let ledger = open(copy.path()).await;
            let opening = ledger.opening().clone();
            let kept = fs::metadata(first_volume(copy.path())).unwrap().len();
            let aside = opening.quarantined.map_or(0, |aside| aside.bytes);
            assert_eq!(kept + aside, length as u64);
            commits_seen.insert(opening.commits);
            let next = write(&ledger, "segments/after", "x").await.unwrap();
            assert_eq!(next.revision as u64, opening.commits + 1);
            close(ledger).await;
        });
        assert_eq!(tools::verify(copy.path()).unwrap().findings, vec![]);
    }
    assert_eq!(commits_seen.into_iter().collect::<Vec<_>>(), [0, 1, 2]);
}

#[test]
fn a_journal_shorter_than_the_index_has_read_stops_the_start() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 3, 20));
    let file = writable(&first_volume(folder.path()));
    let length = file.metadata().unwrap().len();
    for cut in [CLOSED_MARK_BYTES as u64 + 10, 300, 600] {
        file.set_len(length - cut).unwrap();
        let Err(error) = run(Ledger::open(config(folder.path()))) else {
            panic!("cut {cut}")
        };
        assert!(
            matches!(error, OpenError::Corrupt { volume: 1, .. }),
            "cut {cut}: {error}"
        );
        assert!(error.to_string().contains("volume 1"), "{error}");
    }
}

#[test]
fn a_group_that_lost_a_sector_to_a_power_cut_is_set_aside() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 2, 3000));
    fs::remove_dir_all(folder.path().join("index")).unwrap();
    let volume = first_volume(folder.path());
    let whole = fs::read(&volume).unwrap();
    let open_end = whole.len() - CLOSED_MARK_BYTES;
    let mut torn = whole[..open_end].to_vec();
    let sector = (open_end - 1500) / 512 * 512;
    torn[sector..sector + 512].fill(0);
    fs::write(&volume, &torn).unwrap();
    run(async {
        let ledger = open(folder.path()).await;
        assert_eq!(ledger.opening().commits, 1);
        assert!(ledger.opening().quarantined.is_some());
        close(ledger).await;
    });
}

#[test]
fn a_newer_data_level_is_refused_by_name() {
    let folder = tempdir().unwrap();
    run(written(folder.path(), 1, 20));
    let volume = first_volume(folder.path());
    let mut bytes = fs::read(&volume).unwrap();
    bytes[8] = 9;
    let crc = crc32c_of(&bytes[..24]);
    bytes[24..28].copy_from_slice(&crc.to_le_bytes());
    fs::write(&volume, bytes).unwrap();
    let Err(error) = run(Ledger::open(config(folder.path()))) else {
        panic!("it opened")
    };
    assert!(
        matches!(
            error,
            OpenError::NewerLevel {
                volume: 1,
                found: 9,
                supported: 1
            }
        ),
        "{error}"
    );
}

/// CRC-32C bit by bit, so that the test does not lean on the crate the ledger uses.
fn crc32c_of(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ ((crc & 1) * 0x82f6_3b78)
        })
    })
}
