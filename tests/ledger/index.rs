//! The index is derived: whatever happens to its files, the ledger opens and answers the same.

use super::support::{close, config, copy_folder, draft, entry, name, open, run, write};
use obvert_ledger::{IndexStart, Ledger, Stored, tools};
use rand::{RngExt, SeedableRng, rngs::StdRng};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::{TempDir, tempdir};

const RECORDS: usize = 300;

async fn base() -> TempDir {
    let folder = tempdir().unwrap();
    let ledger = open(folder.path()).await;
    for number in 0..RECORDS {
        let record = format!("segments/s{number}");
        let claim = format!("pair/{number}");
        let new = entry(
            &record,
            &format!("body {number}"),
            &["segments/s0"],
            &[&claim],
        );
        ledger.commit(draft(vec![new])).await.unwrap();
    }
    write(&ledger, "segments/s7", "revised").await.unwrap();
    close(ledger).await;
    folder
}

async fn everything(ledger: &Ledger) -> (Vec<Stored>, Vec<Stored>) {
    let project = super::support::PROJECT;
    let list = ledger
        .list(project.into(), "segments".into(), None, 1000, 0)
        .await
        .unwrap();
    let root = ledger
        .referrers(name("segments/s0"), None, None, 1000, 0)
        .await
        .unwrap();
    (list.items, root.items)
}

fn index_files(folder: &Path) -> Vec<PathBuf> {
    let files = fs::read_dir(folder.join("index"))
        .unwrap()
        .map(|file| file.unwrap().path());
    let mut files: Vec<_> = files.filter(|path| path.is_file()).collect();
    files.sort();
    files
}

/// Opens a copy of the base after `harm` was done to it; all must be there.
async fn survives(base: &Path, harm: impl FnOnce(&Path)) -> IndexStart {
    let copy = tempdir().unwrap();
    copy_folder(base, copy.path());
    harm(copy.path());
    let ledger = Ledger::open(config(copy.path())).await.unwrap();
    let start = ledger.opening().index.clone();
    let (list, root) = everything(&ledger).await;
    assert_eq!((list.len(), root.len()), (RECORDS, RECORDS - 1));
    let next = write(&ledger, "segments/new", "x").await.unwrap();
    assert_eq!(next.revision, RECORDS as i64 + 2);
    close(ledger).await;
    start
}

#[test]
fn a_deleted_index_is_made_again_and_an_old_one_catches_up() {
    run(async {
        let base = base().await;
        let all = RECORDS as u64 + 1;
        assert_eq!(survives(base.path(), |_| {}).await, IndexStart::Current);
        let deleted = survives(base.path(), |folder| {
            fs::remove_dir_all(folder.join("index")).unwrap();
        });
        let IndexStart::Rebuilt { commits, why } = deleted.await else {
            panic!("not made again")
        };
        assert!(commits == all && why.contains("missing"), "{commits} {why}");

        let old = tempdir().unwrap();
        copy_folder(base.path(), old.path());
        let ledger = open(base.path()).await;
        for number in 0..20 {
            write(&ledger, &format!("liners/l{number}"), "x")
                .await
                .unwrap();
        }
        close(ledger).await;
        fs::remove_dir_all(base.path().join("index")).unwrap();
        copy_folder(&old.path().join("index"), &base.path().join("index"));
        let ledger = open(base.path()).await;
        assert_eq!(ledger.opening().index, IndexStart::CaughtUp { commits: 20 });
        assert!(ledger.get(name("liners/l19"), 0).await.unwrap().is_some());
        close(ledger).await;
        assert_eq!(tools::rebuild(base.path()).unwrap().commits, all + 20);
    });
}

#[test]
fn a_truncated_or_flipped_index_file_never_stops_the_start() {
    run(async {
        let base = base().await;
        let files = index_files(base.path());
        let mut random = StdRng::seed_from_u64(7);
        let mut made_again = 0;
        for round in 0..60 {
            let file = files[round % files.len()].clone();
            let file = Path::new("index").join(file.file_name().unwrap());
            let place: f64 = random.random();
            let start = survives(base.path(), |folder| {
                let path = folder.join(&file);
                let mut bytes = fs::read(&path).unwrap();
                let at = (bytes.len() as f64 * place) as usize;
                match round % 3 {
                    0 => bytes.truncate(at),
                    1 => bytes[at] ^= 1 << (round % 8),
                    _ => {
                        let end = bytes.len().min(at + 4096);
                        bytes[at..end].fill(0);
                    }
                }
                fs::write(path, bytes).unwrap();
            });
            made_again += u32::from(matches!(start.await, IndexStart::Rebuilt { .. }));
        }
        assert!(
            made_again > 0,
            "no damage was ever noticed: the test harms nothing"
        );
    });
}

#[test]
fn a_half_written_snapshot_of_the_index_is_removed_before_it_harms() {
    run(async {
        let base = base().await;
        let start = survives(base.path(), |folder| {
            let half = folder.join("index/snap.ffffffffffffffff.generating");
            fs::write(half, b"half").unwrap();
        });
        assert_eq!(start.await, IndexStart::Current);
    });
}
