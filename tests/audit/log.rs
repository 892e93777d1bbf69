//! The access log in this process: floods, a full disk, and who must wait for it.

use super::events::events;
use crate::ledger::{space::SmallDisk, support::run};
use crate::services::store::{office, reason};
use obvert_access::{AccessLog, log};
use obvert_proto::common::v1::{AccessEvent, AccessEventKind, Reason};
use obvert_proto::{Problem, reason_word};
use std::fs;
use tempfile::tempdir;

const NOW_MS: i64 = 1_790_000_000_123;

fn denied(peer: &str, method: &str, project: &str) -> AccessEvent {
    let problem = Problem::new(Reason::NotAuthenticated, "no key");
    log::denied(&problem, method, project, peer, NOW_MS)
}

fn opened() -> AccessEvent {
    let asked = (
        "/obvert.project.v1.ProjectService/GetParcelSheet",
        "projects/a/parcels/p-1",
    );
    log::opened(&office(), "office", asked, "192.0.2.1", NOW_MS)
}

#[test]
fn a_flood_of_one_caller_is_counted_and_not_written_call_by_call() {
    let folder = tempdir().unwrap();
    run(async {
        let log = AccessLog::open(folder.path()).unwrap();
        for call in 0..20_000 {
            log.denied(denied(
                "192.0.2.7",
                &format!("/m/{}", call % 40),
                "quillfern",
            ));
        }
        log.close().await;
    });
    let events = events(folder.path());
    assert_eq!(events.iter().map(|event| event.count).sum::<i64>(), 20_000);
    assert!(events.len() < 200, "{} events", events.len());
    let first = &events[0];
    assert_eq!(
        (first.principal.as_str(), first.key_id.as_str()),
        ("unknown", "")
    );
    assert_eq!(first.peer_address, "192.0.2.7");
    assert_eq!(first.projects, ["quillfern"]);
    assert_eq!(first.methods.len(), 8, "{:?}", first.methods);
    assert_eq!(first.reason, reason_word(Reason::NotAuthenticated));
}

#[test]
fn a_flood_from_many_addresses_shares_events_and_keeps_the_count() {
    let folder = tempdir().unwrap();
    run(async {
        let log = AccessLog::open(folder.path()).unwrap();
        for call in 0..20_000 {
            log.denied(denied(&format!("2001:db8::{call:x}"), "/m", ""));
        }
        log.close().await;
    });
    let events = events(folder.path());
    assert_eq!(events.iter().map(|event| event.count).sum::<i64>(), 20_000);
    assert!(events.len() < 5_000, "{} events", events.len());
    assert!(events.iter().any(|event| event.principal == "several"));
}

#[test]
fn a_long_text_of_a_caller_is_cut_where_a_character_ends() {
    let event = denied("192.0.2.7", &"ä".repeat(500), &"é".repeat(500));
    assert!(event.methods[0].len() <= 120 && event.projects[0].len() <= 120);
    assert!(event.methods[0].chars().all(|c| c == 'ä'));
}

#[test]
fn a_full_disk_keeps_personal_data_closed_and_loses_no_count() {
    let disk = SmallDisk::mount("1m");
    let store = disk.path().join("store");
    run(async {
        let log = AccessLog::open(&store).unwrap();
        log.opened(opened()).await.unwrap();
        let ballast = disk.path().join("ballast");
        fs::write(&ballast, []).unwrap();
        let filled = fs::write(&ballast, vec![1; 4 << 20]);
        assert!(filled.is_err(), "the disk is full now");
        let refused = loop {
            // Entries fill what is left of the last block first.
            log.denied(denied("192.0.2.7", "/m", "quillfern"));
            if let Err(problem) = log.opened(opened()).await {
                break problem;
            }
        };
        assert_eq!(refused.reason, Reason::DiskFull, "{refused}");
        assert!(
            refused
                .message
                .contains("personal data is opened only when")
        );
        log.denied(denied("192.0.2.8", "/m", "quillfern"));
        fs::remove_file(&ballast).unwrap();
        log.opened(opened()).await.unwrap();
        log.close().await;
        let after = log.opened(opened()).await.unwrap_err();
        assert_eq!(after.reason, Reason::ShuttingDown, "{after}");
    });
    let events = events(&store);
    let from = |peer: &'static str| {
        events
            .iter()
            .filter(move |event| event.peer_address == peer)
    };
    assert!(from("192.0.2.7").map(|event| event.count).sum::<i64>() >= 1);
    assert_eq!(from("192.0.2.8").map(|event| event.count).sum::<i64>(), 1);
    let reads = from("192.0.2.1").map(AccessEvent::kind);
    assert!(
        reads
            .clone()
            .all(|kind| kind == AccessEventKind::PersonalDataRead)
    );
    assert!(reads.count() >= 2);
}

#[test]
fn a_parcel_s_sheet_is_opened_only_after_the_log_has_it_and_never_says_what_it_holds() {
    use obvert_proto::project::v1::GetParcelSheetRequest;
    run(async {
        let (store, mut office, parcel) = crate::services::sheets::with_parcel().await;
        let contact = "Tamsin Oakhollow, 555-0142";
        crate::services::sheets::put(&mut office, "sheet-1", contact)
            .await
            .unwrap();
        let request = GetParcelSheetRequest {
            parcel: parcel.clone(),
        };
        office.get_parcel_sheet(request.clone()).await.unwrap();
        let found = events(store.folder.path());
        let [event] = found.as_slice() else {
            panic!("{found:?}")
        };
        assert_eq!((&event.record, event.count), (&parcel, 1));
        assert_eq!(
            (event.principal.as_str(), event.role.as_str()),
            ("person/office", "office")
        );
        assert_eq!(event.key_id, "k-1");
        store.log.close().await;
        let refused = office.get_parcel_sheet(request).await.unwrap_err();
        assert_eq!(reason(&refused), "SHUTTING_DOWN");
        assert!(!crate::services::sheets::holds(
            store.folder.path(),
            b"Oakhollow"
        ));
    });
}
