//! Personal data of parcels: sealed, outside the journal, gone when erased.

use std::{fs, path::Path};

use obvert_proto::project::v1::{
    EraseParcelSheetRequest, GetParcelSheetRequest, GetParcelSheetResponse, Parcel, ParcelSheet,
    PutParcelSheetRequest, Record, Role, record::Body,
};
use tonic::Status;

use super::store::{
    PROJECT, Register, Store, caller, create, get, named, office, reason, revise, write, write_as,
};

const CONTACT: &str = "Tamsin Oakhollow, 555-0142";
const OTHER: &str = "Bram Oakhollow, 555-0143";

fn sheet(contact: &str) -> Option<ParcelSheet> {
    Some(ParcelSheet {
        owner_contact: contact.into(),
        ..ParcelSheet::default()
    })
}

pub(crate) async fn with_parcel() -> (Store, Register, String) {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let parcel = Parcel {
        assessor_number: "41-7".into(),
        ..Parcel::default()
    };
    create(&mut office, PROJECT, "p-41", Body::Parcel(parcel))
        .await
        .unwrap();
    (store, office, named("parcels", "p-41"))
}

pub(crate) async fn put(
    client: &mut Register,
    request_id: &str,
    contact: &str,
) -> Result<Record, Status> {
    let parcel = named("parcels", "p-41");
    let write = write_as(request_id);
    let request = PutParcelSheetRequest {
        write,
        parcel,
        sheet: sheet(contact),
    };
    client
        .put_parcel_sheet(request)
        .await
        .map(tonic::Response::into_inner)
}

async fn read(client: &mut Register) -> Result<GetParcelSheetResponse, Status> {
    let request = GetParcelSheetRequest {
        parcel: named("parcels", "p-41"),
    };
    client
        .get_parcel_sheet(request)
        .await
        .map(tonic::Response::into_inner)
}

fn digest(record: Record) -> Vec<u8> {
    match record.body {
        Some(Body::Parcel(parcel)) => parcel.sheet_digest,
        other => panic!("{other:?}"),
    }
}

/// Whether any file below a folder holds these bytes.
pub(crate) fn holds(folder: &Path, text: &[u8]) -> bool {
    fs::read_dir(folder).unwrap().any(|entry| {
        let path = entry.unwrap().path();
        if path.is_dir() {
            return holds(&path, text);
        }
        fs::read(&path)
            .unwrap()
            .windows(text.len())
            .any(|window| window == text)
    })
}

#[tokio::test]
async fn a_sheet_is_read_back_and_no_file_of_the_store_holds_its_words() {
    let (store, mut office, _) = with_parcel().await;
    let record = put(&mut office, "sheet-1", CONTACT).await.unwrap();
    let answer = read(&mut office).await.unwrap();
    assert_eq!(
        (answer.sheet, answer.digest_matches),
        (sheet(CONTACT), true)
    );
    assert_eq!(digest(record).len(), 32);
    for revision in 1..=store.revision().await {
        let commit = store
            .ledger
            .commit_bytes(PROJECT.into(), revision)
            .await
            .unwrap()
            .unwrap();
        let found = commit
            .windows(CONTACT.len())
            .any(|window| window == CONTACT.as_bytes());
        assert!(!found, "revision {revision}");
    }
    store.ledger.close().await;
    assert!(
        holds(store.folder.path(), b"41-7"),
        "the search finds what the journal does hold"
    );
    for words in ["Tamsin", "Oakhollow", "555-0142"] {
        assert!(!holds(store.folder.path(), words.as_bytes()), "{words}");
    }
}

#[tokio::test]
async fn an_erased_sheet_cannot_be_read_and_its_record_says_that_it_is_gone() {
    let (store, mut office, parcel) = with_parcel().await;
    put(&mut office, "sheet-1", CONTACT).await.unwrap();
    let request = EraseParcelSheetRequest {
        parcel: parcel.clone(),
        reason: "the owner asked".into(),
    };
    let answer = office
        .erase_parcel_sheet(request.clone())
        .await
        .unwrap()
        .into_inner();
    assert!(answer.erased);
    assert_eq!(
        reason(&read(&mut office).await.unwrap_err()),
        "RECORD_NOT_FOUND"
    );
    let record = get(&mut office, &parcel).await.unwrap();
    assert_eq!(record.meta.as_ref().unwrap().reason, "the owner asked");
    assert_eq!(digest(record), b"");
    let before = store.revision().await;
    assert!(
        !office
            .erase_parcel_sheet(request)
            .await
            .unwrap()
            .into_inner()
            .erased
    );
    assert_eq!(store.revision().await, before);
}

#[tokio::test]
async fn a_repeated_put_answers_as_before_and_never_replaces_a_later_sheet() {
    let (_store, mut office, _) = with_parcel().await;
    let first = put(&mut office, "sheet-1", CONTACT).await.unwrap();
    assert_eq!(put(&mut office, "sheet-1", CONTACT).await.unwrap(), first);
    let reused = put(&mut office, "sheet-1", OTHER).await.unwrap_err();
    assert_eq!(reason(&reused), "REQUEST_ID_REUSED");
    let kept = read(&mut office).await.unwrap();
    assert_eq!((kept.sheet, kept.digest_matches), (sheet(CONTACT), true));
    put(&mut office, "sheet-2", OTHER).await.unwrap();
    assert_eq!(put(&mut office, "sheet-1", CONTACT).await.unwrap(), first);
    let kept = read(&mut office).await.unwrap();
    assert_eq!((kept.sheet, kept.digest_matches), (sheet(OTHER), true));
}

#[tokio::test]
async fn a_put_on_a_state_that_moved_on_is_refused_and_the_earlier_sheet_stays() {
    let (_store, mut office, name) = with_parcel().await;
    put(&mut office, "sheet-1", CONTACT).await.unwrap();
    let write = write().map(|write| obvert_proto::common::v1::Write {
        etag: "r2".into(),
        ..write
    });
    let request = PutParcelSheetRequest {
        write,
        parcel: name,
        sheet: sheet(OTHER),
    };
    let stale = office.put_parcel_sheet(request).await.unwrap_err();
    assert_eq!(reason(&stale), "ETAG_STALE");
    let kept = read(&mut office).await.unwrap();
    assert_eq!((kept.sheet, kept.digest_matches), (sheet(CONTACT), true));
}

#[tokio::test]
async fn a_revised_parcel_keeps_the_digest_of_its_sheet() {
    let (_store, mut office, name) = with_parcel().await;
    let sealed = put(&mut office, "sheet-1", CONTACT).await.unwrap();
    let parcel = Parcel {
        assessor_number: "41-8".into(),
        ..Parcel::default()
    };
    let etag = sealed.meta.as_ref().unwrap().etag.clone();
    let revised = revise(&mut office, &name, &etag, Body::Parcel(parcel))
        .await
        .unwrap();
    assert_eq!(digest(revised), digest(sealed));
    assert!(read(&mut office).await.unwrap().digest_matches);
}

#[tokio::test]
async fn a_crew_never_sees_a_sheet_and_a_digest_cannot_be_sent() {
    let (store, mut office, _) = with_parcel().await;
    put(&mut office, "sheet-1", CONTACT).await.unwrap();
    let mut crew = store.projects(caller(Role::Crew, PROJECT));
    assert_eq!(reason(&read(&mut crew).await.unwrap_err()), "NOT_ALLOWED");
    assert_eq!(
        reason(&put(&mut crew, "c-1", OTHER).await.unwrap_err()),
        "NOT_ALLOWED"
    );
    let forged = Parcel {
        assessor_number: "41-9".into(),
        sheet_digest: vec![1; 32],
    };
    let refused = create(&mut office, PROJECT, "p-42", Body::Parcel(forged))
        .await
        .unwrap_err();
    super::store::violates(&refused, &[("parcel.sheet_digest", "by the server only")]);
}
