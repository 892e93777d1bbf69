//! A disk that fills up and is freed again, on a small file system of its own.

use super::support::{PROJECT, close, name, open, run, write};
use obvert_ledger::{LedgerError, LedgerState, tools};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;
use tempfile::{TempDir, tempdir};

/// A mounted file system in memory; unmounted when dropped.
pub(crate) struct SmallDisk {
    folder: TempDir,
}

impl SmallDisk {
    pub(crate) fn mount(size: &str) -> SmallDisk {
        let folder = tempdir().unwrap();
        let option = format!("size={size}");
        let mut mount = Command::new("mount");
        mount
            .args(["-t", "tmpfs", "-o", &option, "obvert-test"])
            .arg(folder.path());
        let mounted = mount.status().is_ok_and(|status| status.success());
        assert!(
            mounted,
            "this test mounts a small tmpfs: it must run as root, with mount allowed"
        );
        SmallDisk { folder }
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount")
            .arg("-l")
            .arg(self.folder.path())
            .status();
    }
}

fn ballast(disk: &SmallDisk, number: u32) -> PathBuf {
    disk.path().join(format!("ballast-{number}"))
}

#[test]
fn a_full_disk_refuses_writes_keeps_reads_and_recovers_without_a_restart() {
    let disk = SmallDisk::mount("32m");
    for number in 0..3 {
        fs::write(ballast(&disk, number), vec![1; 3 << 20]).unwrap();
    }
    let folder = disk.path().join("ledger");
    let written = run(async {
        let ledger = open(&folder).await;
        let mut written = 0;
        for freed in 0..3 {
            let refused = loop {
                let record = format!("segments/s{written}");
                match write(&ledger, &record, &"f".repeat(100_000)).await {
                    Ok(done) => {
                        written += 1;
                        assert_eq!(done.revision, written);
                    }
                    Err(error) => break error,
                }
            };
            assert_eq!(refused, LedgerError::DiskFull);
            assert_eq!(ledger.state(), LedgerState::DiskFull);
            for number in [0, written / 2, written - 1] {
                let record = name(&format!("segments/s{number}"));
                let found = ledger.get(record, 0).await.unwrap().unwrap();
                assert_eq!(found.body.len(), 100_000);
            }
            let list = ledger
                .list(PROJECT.into(), "segments".into(), None, 1000, 0)
                .await;
            assert_eq!(list.unwrap().items.len() as i64, written);
            fs::remove_file(ballast(&disk, freed)).unwrap();
            if freed == 1 {
                tokio::time::sleep(Duration::from_millis(600)).await;
                assert_eq!(ledger.state(), LedgerState::Ready);
            }
            let record = format!("segments/s{written}");
            let done = write(&ledger, &record, "there is room again")
                .await
                .unwrap();
            written += 1;
            assert_eq!(done.revision, written);
            assert_eq!(ledger.state(), LedgerState::Ready);
        }
        close(ledger).await;
        written
    });
    let report = tools::verify(&folder).unwrap();
    assert_eq!((report.commits as i64, report.findings), (written, vec![]));
    run(async {
        let ledger = open(&folder).await;
        assert_eq!(ledger.head(PROJECT.into()).await.unwrap().revision, written);
        close(ledger).await;
    });
}
