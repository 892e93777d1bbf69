//! Uploads that break off, blobs that rot.

use super::support::{close, open, run};
use bytes::Bytes;
use obvert_ledger::{BlobError, tools};
use sha2::{Digest, Sha256};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::tempdir;

fn digest(data: &[u8]) -> [u8; 32] {
    Sha256::digest(data).into()
}

fn blob_file(folder: &Path) -> PathBuf {
    let mut path = folder.join("blobs/sha256");
    while path.is_dir() {
        path = fs::read_dir(path).unwrap().next().unwrap().unwrap().path();
    }
    path
}

#[test]
fn an_upload_that_broke_off_is_refused_as_a_whole_and_resumes_where_it_was() {
    run(async {
        let folder = tempdir().unwrap();
        let data: Vec<u8> = (0..3_000_000u32).flat_map(u32::to_le_bytes).collect();
        let session = || "projects/marrowby-2026/uploads/u-1".to_string();
        let ledger = open(folder.path()).await;
        assert_eq!(ledger.blobs().received(session()).await.unwrap(), None);
        ledger.blobs().begin(session()).await.unwrap();
        let part = Bytes::copy_from_slice(&data[..1_000_000]);
        let received = ledger
            .blobs()
            .append(session(), 0, part.clone())
            .await
            .unwrap();
        assert_eq!(received, 1_000_000);
        let gap = ledger
            .blobs()
            .append(session(), 2_000_000, part)
            .await
            .unwrap_err();
        assert!(
            matches!(
                gap,
                BlobError::Offset {
                    expected: 1_000_000
                }
            ),
            "{gap}"
        );
        close(ledger).await;

        let ledger = open(folder.path()).await;
        ledger.blobs().begin(session()).await.unwrap();
        let received = ledger.blobs().received(session()).await.unwrap().unwrap();
        assert_eq!(received, 1_000_000);
        let rest = Bytes::copy_from_slice(&data[received as usize..]);
        ledger
            .blobs()
            .append(session(), received, rest)
            .await
            .unwrap();
        assert_eq!(
            ledger.blobs().size(digest(&data)).await.unwrap(),
            None,
            "not yet visible"
        );
        let size = data.len() as u64;
        ledger
            .blobs()
            .finish(session(), size, digest(&data))
            .await
            .unwrap();
        assert_eq!(
            ledger.blobs().get(digest(&data)).await.unwrap().unwrap(),
            data
        );
        let part = ledger
            .blobs()
            .read_range(digest(&data), 40, 48)
            .await
            .unwrap();
        assert_eq!(part, data[40..48]);
        assert_eq!(ledger.blobs().received(session()).await.unwrap(), None);
        close(ledger).await;
    });
}

#[test]
fn a_truncated_or_altered_upload_is_refused_and_removed() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let data = vec![5; 10_000];
        for (sent, size) in [(&data[..9_999], 10_000), (&[6; 10_000][..], 10_000)] {
            ledger.blobs().begin("u".into()).await.unwrap();
            let part = Bytes::copy_from_slice(sent);
            ledger.blobs().append("u".into(), 0, part).await.unwrap();
            let refused = ledger
                .blobs()
                .finish("u".into(), size, digest(&data))
                .await
                .unwrap_err();
            assert!(matches!(
                refused,
                BlobError::Size { .. } | BlobError::Digest { .. }
            ));
            assert_eq!(ledger.blobs().received("u".into()).await.unwrap(), None);
            assert_eq!(ledger.blobs().get(digest(&data)).await.unwrap(), None);
        }
        let none = ledger
            .blobs()
            .append("u".into(), 0, data.into())
            .await
            .unwrap_err();
        assert!(matches!(none, BlobError::NoSession { .. }), "{none}");
        ledger.blobs().abandon("u".into()).await.unwrap();
        close(ledger).await;
    });
}

#[test]
fn the_same_bytes_are_kept_once_and_a_flipped_bit_is_named() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let data = Bytes::from(vec![9; 100_000]);
        let sha256 = ledger.blobs().put(data.clone()).await.unwrap();
        assert_eq!(ledger.blobs().put(data.clone()).await.unwrap(), sha256);
        ledger.blobs().begin("u".into()).await.unwrap();
        ledger
            .blobs()
            .append("u".into(), 0, data.clone())
            .await
            .unwrap();
        ledger
            .blobs()
            .finish("u".into(), 100_000, sha256)
            .await
            .unwrap();
        assert_eq!(tools::verify(folder.path()).unwrap().blobs, 1);
        let path = blob_file(folder.path());
        let mut bytes = fs::read(&path).unwrap();
        bytes[50_000] ^= 4;
        fs::write(&path, bytes).unwrap();
        let damaged = ledger.blobs().get(sha256).await.unwrap_err();
        assert!(matches!(damaged, BlobError::Damaged { .. }), "{damaged}");
        let report = tools::verify(folder.path()).unwrap();
        assert_eq!(report.findings.len(), 1);
        assert_eq!(Path::new(&report.findings[0].place), path);
        close(ledger).await;
    });
}
