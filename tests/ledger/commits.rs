//! Single promises of commit and read, one test each.

use super::support::{PROJECT, close, draft, entry, expect, head, name, open, run, write};
use obvert_ledger::{Expect, LedgerError, Opening};
use sha2::{Digest, Sha256};
use tempfile::tempdir;

#[test]
fn each_commit_names_the_hash_of_the_stored_bytes_before_it() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        for number in 0..5 {
            write(&ledger, &format!("segments/s{number}"), "x")
                .await
                .unwrap();
        }
        let commits = ledger.commits(PROJECT.into(), 0, 10).await.unwrap();
        let mut previous = Vec::new();
        for (number, commit) in (1..).zip(&commits) {
            assert_eq!(commit.revision, number);
            assert_eq!(commit.previous_hash, previous);
            let stored = ledger
                .commit_bytes(PROJECT.into(), number)
                .await
                .unwrap()
                .unwrap();
            assert_eq!(
                prost::Message::encode_to_vec(commit),
                stored,
                "prost's own encoding"
            );
            previous = Sha256::digest(&stored).to_vec();
        }
        assert_eq!(commits.len(), 5);
        assert_eq!(head(&ledger).await.hash.to_vec(), previous);
        close(ledger).await;
    });
}

#[test]
fn a_claim_belongs_to_the_latest_state_and_names_its_holder_when_taken() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let take = |record: &str, claims: &[&str]| draft(vec![entry(record, "x", &[], claims)]);
        ledger
            .commit(take("liners/a", &["serial/77"]))
            .await
            .unwrap();
        let refused = ledger.commit(take("liners/b", &["serial/77"])).await;
        let taken = LedgerError::ClaimTaken {
            claim: "serial/77".into(),
            holder: name("liners/a"),
            wanted_by: name("liners/b"),
        };
        assert_eq!(refused, Err(taken));
        ledger.commit(take("liners/a", &[])).await.unwrap();
        ledger
            .commit(take("liners/b", &["serial/77"]))
            .await
            .unwrap();
        let moved = vec![
            entry("liners/c", "x", &[], &["serial/77"]),
            entry("liners/b", "x", &[], &[]),
        ];
        assert_eq!(ledger.commit(draft(moved)).await.unwrap().revision, 4);
        let both = vec![
            entry("liners/d", "x", &[], &["serial/78"]),
            entry("liners/e", "x", &[], &["serial/78"]),
        ];
        let refused = ledger.commit(draft(both)).await.unwrap_err();
        let LedgerError::ClaimTaken { holder, .. } = refused else {
            panic!("{refused}")
        };
        assert_eq!(holder, name("liners/d"));
        close(ledger).await;
    });
}

#[test]
fn a_repeated_request_gets_its_first_answer_for_ever_and_another_body_is_refused() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let mut asked = draft(vec![entry("segments/a", "x", &[], &[])]);
        asked.request_id = "r-1".into();
        asked.request_digest = [7; 32];
        asked.asserts = vec![expect("segments/a", Expect::Absent)];
        let first = ledger.commit(asked.clone()).await.unwrap();
        write(&ledger, "segments/b", "x").await.unwrap();
        close(ledger).await;
        let ledger = open(folder.path()).await;
        asked.commit_time_ms += 60_000;
        let again = ledger.commit(asked.clone()).await.unwrap();
        assert!(again.replayed && !first.replayed);
        assert_eq!(
            (again.revision, again.commit_time_ms),
            (1, first.commit_time_ms)
        );
        asked.request_digest = [8; 32];
        let reused = LedgerError::RequestIdReused {
            request_id: "r-1".into(),
            revision: 1,
        };
        assert_eq!(ledger.commit(asked.clone()).await, Err(reused));
        asked.caller.principal = "person/otto-brandt".into();
        let other = ledger.commit(asked).await.unwrap_err();
        assert_eq!(
            other,
            LedgerError::Exists {
                name: name("segments/a"),
                revision: 1
            }
        );
        assert_eq!(head(&ledger).await.revision, 2);
        close(ledger).await;
    });
}

#[test]
fn asserts_name_what_they_found() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        write(&ledger, "segments/a", "x").await.unwrap();
        let with = |record: &str, expected: Expect| {
            let mut draft = draft(vec![entry("segments/z", "x", &[], &[])]);
            draft.asserts = vec![expect(record, expected)];
            ledger.commit(draft)
        };
        let (a, b) = (name("segments/a"), name("segments/b"));
        let exists = LedgerError::Exists {
            name: a.clone(),
            revision: 1,
        };
        assert_eq!(with("segments/a", Expect::Absent).await, Err(exists));
        let missing = LedgerError::NotFound { name: b.clone() };
        assert_eq!(with("segments/b", Expect::Present).await, Err(missing));
        let stale = LedgerError::Stale {
            name: a,
            expected: 4,
            found: 1,
        };
        assert_eq!(with("segments/a", Expect::Revision(4)).await, Err(stale));
        let stale = LedgerError::Stale {
            name: b,
            expected: 1,
            found: 0,
        };
        assert_eq!(with("segments/b", Expect::Revision(1)).await, Err(stale));
        assert_eq!(
            with("segments/a", Expect::Revision(1))
                .await
                .unwrap()
                .revision,
            2
        );
        close(ledger).await;
    });
}

#[test]
fn a_draft_that_cannot_be_stored_is_refused_with_all_its_faults() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let mut draft = draft(vec![entry("segments/a", "x", &[], &["bad\0claim"])]);
        draft.entries.push(draft.entries[0].clone());
        draft.entries[1].claims.clear();
        draft.entries[1].name = "projects/other/segments/a".into();
        let LedgerError::Invalid { what } = ledger.commit(draft).await.unwrap_err() else {
            panic!("another error");
        };
        assert!(
            what.contains("zero byte") && what.contains("projects/other"),
            "{what}"
        );
        let large =
            super::support::draft(vec![entry("segments/a", &"x".repeat(33 << 20), &[], &[])]);
        let refused = ledger.commit(large).await.unwrap_err();
        assert!(matches!(
            refused,
            LedgerError::TooLarge {
                limit_bytes: 33_554_432,
                ..
            }
        ));
        assert_eq!(head(&ledger).await.revision, 0);
        close(ledger).await;
        assert_eq!(
            write(&ledger_closed(folder.path()).await, "segments/a", "x").await,
            Err(LedgerError::Closed)
        );
    });
}

async fn ledger_closed(folder: &std::path::Path) -> obvert_ledger::Ledger {
    let ledger = open(folder).await;
    ledger.close().await;
    ledger
}

#[test]
fn a_full_volume_is_sealed_and_the_next_one_goes_on() {
    run(async {
        let folder = tempdir().unwrap();
        let mut config = super::support::config(folder.path());
        config.volume_bytes = 4096;
        for round in 0..3 {
            let ledger = obvert_ledger::Ledger::open(config.clone()).await.unwrap();
            for number in 0..30 {
                let record = format!("segments/s{round}-{number}");
                write(&ledger, &record, &"y".repeat(300)).await.unwrap();
            }
            close(ledger).await;
        }
        let report = obvert_ledger::tools::verify(folder.path()).unwrap();
        assert_eq!((report.commits, report.findings), (90, vec![]));
        assert!(
            report.volumes > 5 && report.closed,
            "{} volumes",
            report.volumes
        );
        let ledger = obvert_ledger::Ledger::open(config).await.unwrap();
        let Opening { clean, commits, .. } = ledger.opening().clone();
        assert_eq!((clean, commits), (true, 90));
        let page = ledger
            .list(PROJECT.into(), "segments".into(), None, 100, 0)
            .await
            .unwrap();
        assert_eq!(page.items.len(), 90);
        close(ledger).await;
    });
}

#[test]
fn a_snapshot_holds_what_hangs_on_the_root_and_nothing_else() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let all = vec![
            entry("segments/a", "x", &[], &[]),
            entry("segments/b", "x", &[], &[]),
            entry("makers/m", "x", &[], &[]),
            entry("liners/l", "x", &["segments/a", "makers/m"], &[]),
            entry("samples/s", "x", &["liners/l"], &[]),
            entry("liners/other", "x", &["segments/b", "makers/m"], &[]),
        ];
        ledger.commit(draft(all)).await.unwrap();
        ledger
            .commit(draft(vec![entry("samples/s", "x", &[], &[])]))
            .await
            .unwrap();
        let names = async |at: i64| {
            let snapshot = ledger.snapshot(name("segments/a"), at).await.unwrap();
            assert_eq!(snapshot.revision, if at == 0 { 2 } else { at });
            let names = snapshot.records.iter().map(|stored| stored.name.clone());
            names.collect::<Vec<_>>()
        };
        let at_first = ["liners/l", "makers/m", "samples/s", "segments/a"].map(name);
        assert_eq!(names(1).await, at_first);
        assert_eq!(
            names(0).await,
            ["liners/l", "makers/m", "segments/a"].map(name)
        );
        let missing = ledger.snapshot(name("segments/c"), 0).await.unwrap_err();
        assert_eq!(
            missing,
            LedgerError::NotFound {
                name: name("segments/c")
            }
        );
        close(ledger).await;
    });
}
