//! Export, import and backup keep every byte of every chain.

use super::support::{PROJECT, close, draft, entry, name, open, run, write};
use bytes::Bytes;
use obvert_ledger::{Ledger, tools};
use std::fs;
use std::path::Path;
use tempfile::{TempDir, tempdir};

async fn base() -> (TempDir, [u8; 32]) {
    let folder = tempdir().unwrap();
    let ledger = open(folder.path()).await;
    let sha256 = ledger
        .blobs()
        .put(Bytes::from_static(b"the native cure log"))
        .await
        .unwrap();
    ledger
        .blobs()
        .put(Bytes::from_static(b"of no record"))
        .await
        .unwrap();
    for number in 0..20 {
        write(&ledger, &format!("segments/s{number}"), "x")
            .await
            .unwrap();
        let mut other = draft(vec![entry("segments/a", "y", &[], &[])]);
        other.project = "office".into();
        other.entries[0].name = format!("projects/office/keys/k{number}");
        ledger.commit(other).await.unwrap();
    }
    let mut filed = entry("documents/d1", "", &["segments/s1"], &["cure/1"]);
    filed.body = Bytes::from([b"\x0a\x20".as_slice(), &sha256].concat());
    ledger.commit(draft(vec![filed])).await.unwrap();
    close(ledger).await;
    (folder, sha256)
}

async fn same_heads(left: &Path, right: &Path) {
    let (left, right) = (open(left).await, open(right).await);
    assert_eq!(
        left.projects().await.unwrap(),
        right.projects().await.unwrap()
    );
    for project in left.projects().await.unwrap() {
        assert_eq!(
            left.head(project.clone()).await.unwrap(),
            right.head(project).await.unwrap(),
        );
    }
    let document = name("documents/d1");
    assert_eq!(
        left.get(document.clone(), 0).await.unwrap(),
        right.get(document, 0).await.unwrap()
    );
    close(left).await;
    close(right).await;
}

#[test]
fn an_export_imports_into_an_empty_ledger_with_the_same_heads_and_blobs() {
    run(async {
        let (folder, sha256) = base().await;
        let files = tempdir().unwrap();
        let file = files.path().join("all.export");
        let exported = tools::export(folder.path(), &file, None).unwrap();
        assert_eq!((exported.commits, exported.blobs), (41, 2));
        let target = tempdir().unwrap();
        let imported = tools::import(target.path(), &file).unwrap();
        assert_eq!(
            (imported.commits, imported.known, imported.blobs),
            (41, 0, 2)
        );
        same_heads(folder.path(), target.path()).await;
        let again = tools::import(target.path(), &file).unwrap();
        assert_eq!((again.commits, again.known, again.blobs), (0, 41, 0));

        let ledger = open(folder.path()).await;
        write(&ledger, "segments/later", "x").await.unwrap();
        close(ledger).await;
        tools::export(folder.path(), &file, None).unwrap();
        assert_eq!(tools::import(target.path(), &file).unwrap().commits, 1);
        same_heads(folder.path(), target.path()).await;
        let ledger = open(target.path()).await;
        assert!(ledger.blobs().get(sha256).await.unwrap().is_some());
        close(ledger).await;
    });
}

#[test]
fn one_project_is_exported_with_the_blobs_its_records_name() {
    run(async {
        let (folder, sha256) = base().await;
        let files = tempdir().unwrap();
        let file = files.path().join("one.export");
        let exported = tools::export(folder.path(), &file, Some(PROJECT)).unwrap();
        assert_eq!((exported.commits, exported.blobs), (21, 1));
        let target = tempdir().unwrap();
        tools::import(target.path(), &file).unwrap();
        let ledger = open(target.path()).await;
        assert_eq!(ledger.projects().await.unwrap(), [PROJECT]);
        assert!(ledger.blobs().get(sha256).await.unwrap().is_some());
        close(ledger).await;
    });
}

#[test]
fn a_damaged_or_foreign_export_changes_nothing() {
    run(async {
        let (folder, _) = base().await;
        let files = tempdir().unwrap();
        let file = files.path().join("all.export");
        tools::export(folder.path(), &file, None).unwrap();
        let whole = fs::read(&file).unwrap();
        let target = tempdir().unwrap();
        for place in (0..whole.len()).step_by(211) {
            let mut flipped = whole.clone();
            flipped[place] ^= 16;
            fs::write(&file, &flipped).unwrap();
            assert!(tools::import(target.path(), &file).is_err(), "byte {place}");
            fs::write(&file, &whole[..place]).unwrap();
            assert!(
                tools::import(target.path(), &file).is_err(),
                "cut at {place}"
            );
        }
        let ledger = open(target.path()).await;
        assert_eq!(ledger.projects().await.unwrap(), Vec::<String>::new());
        write(&ledger, "segments/another-history", "x")
            .await
            .unwrap();
        close(ledger).await;
        fs::write(&file, &whole).unwrap();
        let refused = tools::import(target.path(), &file).unwrap_err().to_string();
        assert!(refused.contains("marrowby-2026@1"), "{refused}");
        assert_eq!(tools::verify(target.path()).unwrap().commits, 1);
    });
}

#[test]
fn a_backup_of_a_ledger_that_is_being_written_opens_with_what_was_acknowledged() {
    run(async {
        let (folder, sha256) = base().await;
        let ledger = open(folder.path()).await;
        let writer = {
            let ledger = ledger.clone();
            tokio::spawn(async move {
                for number in 0..300 {
                    write(&ledger, &format!("liners/l{number}"), "x")
                        .await
                        .unwrap();
                }
            })
        };
        write(&ledger, "segments/acknowledged", "x").await.unwrap();
        let target = tempdir().unwrap();
        let (from, to) = (folder.path().to_path_buf(), target.path().join("copy"));
        let report = tools::backup(&from, &to).unwrap();
        writer.await.unwrap();
        let copy: Ledger = open(&to).await;
        assert_eq!(copy.opening().commits, report.commits);
        assert_eq!(copy.opening().quarantined, None);
        let found = copy.get(name("segments/acknowledged"), 0).await.unwrap();
        assert!(found.is_some());
        assert!(copy.blobs().get(sha256).await.unwrap().is_some());
        assert_eq!(tools::verify(&to).unwrap().findings, vec![]);
        close(copy).await;
        close(ledger).await;
        assert!(
            tools::backup(&from, &to).is_err(),
            "a backup never writes over files"
        );
    });
}
