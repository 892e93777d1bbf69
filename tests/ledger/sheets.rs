//! Personal data: sealed, and gone when erased.

use super::support::{close, open, run};
use obvert_ledger::SheetError;
use sha2::{Digest, Sha256};
use std::fs;
use std::os::unix::fs::PermissionsExt;
use tempfile::tempdir;

#[test]
fn a_sheet_is_sealed_on_the_disk_opens_again_and_is_gone_when_erased() {
    run(async {
        let folder = tempdir().unwrap();
        let name = || "projects/marrowby-2026/parcels/p-12".to_string();
        let plain = b"Ada Fenwick, 12 Tannery Row".to_vec();
        let ledger = open(folder.path()).await;
        let put = ledger
            .sheets()
            .put(name(), plain.clone(), [1; 32], [2; 32], [3; 12]);
        let digest = put.await.unwrap();
        let expected = Sha256::new()
            .chain_update([1; 32])
            .chain_update(&plain)
            .finalize();
        assert_eq!(digest, expected.as_slice());
        let mode = fs::metadata(folder.path().join("master.key"))
            .unwrap()
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o600);
        close(ledger).await;
        let ledger = open(folder.path()).await;
        assert_eq!(
            ledger.sheets().get(name()).await.unwrap(),
            Some(plain.clone())
        );
        let sealed = fs::read_dir(folder.path().join("sheets"))
            .unwrap()
            .next()
            .unwrap()
            .unwrap();
        let bytes = fs::read(sealed.path()).unwrap();
        assert!(
            !bytes
                .windows(6)
                .any(|part| plain.windows(6).any(|plain| plain == part))
        );

        let mut damaged = bytes.clone();
        *damaged.last_mut().unwrap() ^= 1;
        fs::write(sealed.path(), damaged).unwrap();
        let refused = ledger.sheets().get(name()).await.unwrap_err();
        assert!(matches!(refused, SheetError::Damaged { .. }), "{refused}");
        fs::write(sealed.path(), &bytes).unwrap();

        assert!(ledger.sheets().erase(name()).await.unwrap());
        assert_eq!(ledger.sheets().get(name()).await.unwrap(), None);
        assert!(!ledger.sheets().erase(name()).await.unwrap());
        assert!(!sealed.path().exists());
        let again = ledger
            .sheets()
            .put(name(), b"new".to_vec(), [4; 32], [5; 32], [6; 12]);
        again.await.unwrap();
        assert_eq!(
            ledger.sheets().get(name()).await.unwrap(),
            Some(b"new".to_vec())
        );
        close(ledger).await;
    });
}
