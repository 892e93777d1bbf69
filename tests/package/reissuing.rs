//! A package that replaces another says what differs.

use std::{fs, process::Command, sync::Arc};

use bytes::Bytes;
use obvert_closeout::{Closeout, package::document};
use obvert_ledger::Ledger;
use obvert_proto::{closeout::v1::Package, project::v1::Segment};
use prost::Message;
use serde_json::Value;

use super::{
    assembling::{Store, assembled, stored},
    sample::{files, press, signed, signer, sources, verified},
};
use crate::{
    closeout::fixture::{SEGMENT, store},
    server::support::program,
};

/// Assembles a package; its record and its file.
async fn issued(service: &Closeout, ledger: &Ledger, id: &str) -> (Package, Bytes) {
    let last = assembled(service, id).await.unwrap().pop().unwrap();
    let package = last.package.unwrap();
    let sha256 = obvert_ledger::unhex(&package.sha256).unwrap();
    let bytes = ledger.blobs().get(sha256).await.unwrap().unwrap();
    (package, bytes)
}

/// Writes the segment with another location.
async fn moved(store: &Store) {
    let mut fixture = signed();
    let before = store.ledger.get(SEGMENT.into(), 0).await.unwrap().unwrap();
    let mut segment = Segment::decode(before.body).unwrap();
    segment.location = "rear easement behind odd lots".into();
    fixture.put(SEGMENT, &segment);
    let time_ms = fixture.time_ms;
    store::commit(
        &store.ledger,
        "quillfern",
        vec![&fixture.records[SEGMENT]],
        time_ms,
    )
    .await;
}

fn changes(bytes: &[u8]) -> Value {
    serde_json::from_slice(&files(bytes)["data/changes.json"]).unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn the_second_package_of_a_segment_names_the_first_and_every_record_that_differs() {
    let store = stored(&signed()).await;
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press())));
    let (first, older) = issued(&service, &store.ledger, "one").await;
    assert_eq!(first.replaces, None);
    assert_eq!(changes(&older)["previous"], Value::Null);
    assert_eq!(
        verified(&older, None).unwrap().replaces,
        "none, it is the first"
    );
    let (second, same) = issued(&service, &store.ledger, "two").await;
    assert_eq!(
        second.replaces.as_ref().unwrap().revision,
        second.project_revision
    );
    for part in ["records", "points"] {
        assert_eq!(changes(&same)[part], Value::Array(Vec::new()), "{part}");
    }
    moved(&store).await;
    let (third, newer) = issued(&service, &store.ledger, "three").await;
    let said = changes(&newer);
    assert_eq!(said["previous"]["sha256"], second.sha256);
    assert_eq!(said["previous"]["projectRevision"], second.project_revision);
    let records = said["records"].as_array().unwrap();
    assert_eq!(records.len(), 1, "{records:?}");
    assert_eq!(records[0]["name"], SEGMENT);
    assert_eq!(records[0]["standing"], "changed");
    assert_eq!(records[0]["newRevision"], third.project_revision);
    assert_eq!(records[0]["fields"][0]["field"], "location");
    agrees_with_the_client(&same, &newer);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_package_encloses_the_record_of_the_last_one_only_however_many_there_were() {
    let store = stored(&signed()).await;
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press())));
    let mut entry_counts = Vec::new();
    for id in ["one", "two", "three", "four"] {
        let (package, bytes) = issued(&service, &store.ledger, id).await;
        let files = files(&bytes);
        entry_counts.push(files.len());
        let Some(last) = package.replaces else {
            continue;
        };
        let (_, last) = last.name.rsplit_once('/').unwrap();
        let enclosed: Vec<_> = files.keys().filter(|p| p.contains("/packages/")).collect();
        assert!(!enclosed.is_empty(), "{:?}", files.keys());
        assert!(enclosed.iter().all(|p| p.contains(last)), "{enclosed:?}");
    }
    let [_, second, third, fourth] = entry_counts[..] else {
        panic!("four were made")
    };
    assert_eq!([third, fourth], [second, second]);
}

/// `obvert package diff` finds the same records, besides the record of the package before.
fn agrees_with_the_client(older: &[u8], newer: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    let paths = [("older.zip", older), ("newer.zip", newer)].map(|(name, bytes)| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).unwrap();
        path
    });
    let ended = Command::new(program("obvert"))
        .args(["package", "diff", "--json"])
        .args(paths)
        .output()
        .unwrap();
    let said: Value = serde_json::from_slice(&ended.stdout).unwrap();
    let records = said["difference"]["records"].as_array().unwrap();
    let names = records.iter().filter_map(|record| record["name"].as_str());
    let work: Vec<_> = names.filter(|name| !name.contains("/packages/")).collect();
    assert_eq!(work, [SEGMENT]);
}

#[test]
fn the_document_of_a_first_package_says_that_it_is_the_first() {
    let printed = document(&sources(&signed()), &signer()).unwrap().data;
    assert_eq!(
        printed["changes"]["words"],
        "This is the first package of this segment."
    );
}
