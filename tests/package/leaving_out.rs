//! What a package leaves out: who took part, originals about residents, originals that are too large.

use std::collections::BTreeMap;

use obvert_closeout::{
    Closeout,
    package::{PackageLimits, Press, Sources, Terms, document},
};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::{installation::v1::CureRecord, pool, project::v1::Attachment, rules};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;
use serde_json::Value;
use std::sync::Arc;

use super::{
    assembling::{assembled, file, stored},
    same_bytes,
    sample::{
        NATIVE, ORIGINALS_BYTES, built, files, hex, press, signed, signer, sources, verified,
    },
};
use crate::{
    closeout::fixture::{Fixture, full},
    server::support::{Server, prepared},
};

/// A name that stands nowhere else.
const WHO: &str = "Odile Marchbank";

/// The signed segment with a name in every field that says who took part.
fn peopled() -> Fixture {
    let mut fixture = signed();
    for stored in fixture.records.values_mut() {
        let kind = pool().get_message_by_name(&stored.type_name).unwrap();
        let mut message = DynamicMessage::decode(kind, stored.body.clone()).unwrap();
        rules::people_replaced(&mut message, WHO);
        stored.body = message.encode_to_vec().into();
    }
    fixture
}

fn with(fixture: &Fixture, terms: Terms) -> Sources {
    let mut all = sources(fixture);
    all.loaded.gathered.records = fixture.records.values().cloned().collect();
    all.loaded.file = fixture.file();
    all.redactions.clear();
    all.terms = terms;
    all.redacted()
}

fn json(files: &BTreeMap<String, Vec<u8>>, path: &str) -> Value {
    serde_json::from_slice(&files[path]).unwrap()
}

fn holds(bytes: &[u8], text: &str) -> bool {
    bytes
        .windows(text.len())
        .any(|part| part == text.as_bytes())
}

#[test]
fn who_took_part_is_left_out_and_each_place_is_listed() {
    let fixture = peopled();
    let sources = with(
        &fixture,
        Terms {
            with_people: false,
            originals_bytes: ORIGINALS_BYTES,
        },
    );
    let files = files(&built(&sources).bytes);
    let naming: Vec<_> = files.iter().filter(|(_, data)| holds(data, WHO)).collect();
    assert!(
        naming.is_empty(),
        "{:?}",
        naming.first().map(|(path, _)| path)
    );
    let printed = document(&sources, &signer()).unwrap().data.to_string();
    assert!(!printed.contains(WHO));
    let listed = json(&files, "data/redactions.json");
    let fields = listed["fields"].as_array().unwrap();
    assert!(fields.len() >= 5, "{fields:?}");
    for field in fields {
        let name = field["name"].as_str().unwrap();
        let short = name.strip_prefix("projects/quillfern/").unwrap();
        let path = format!("data/records/{short}-r{}.json", field["revision"]);
        assert!(holds(&files[&path], "[left out]"), "{path}");
    }
    assert!(holds(
        &files["bag-info.txt"],
        "Obvert-Personal-Data: left out in "
    ));
}

#[test]
fn an_enclosed_original_whose_record_leaves_a_person_out_is_named() {
    let mut fixture = peopled();
    let records = fixture.records.values_mut();
    let logs = records.filter(|s| s.type_name == CureRecord::full_name());
    for stored in logs {
        let mut log = CureRecord::decode(stored.body.clone()).unwrap();
        log.header.get_or_insert_default().operator = WHO.into();
        stored.body = log.encode_to_vec().into();
    }
    let sources = with(&fixture, Terms::default());
    let files = files(&built(&sources).bytes);
    let listed = json(&files, "data/redactions.json");
    let left_out: Vec<_> = listed["fields"].as_array().unwrap().iter().collect();
    let untouched = listed["enclosedUntouched"].as_array().unwrap();
    let log = untouched.iter().find(|original| {
        original["record"]
            .as_str()
            .unwrap()
            .contains("/cureRecords/")
    });
    let log = log.expect("the cure log names its operator");
    assert!(files.contains_key(log["file"].as_str().unwrap()), "{log}");
    for name in log["leftOutIn"].as_array().unwrap() {
        assert!(
            left_out.iter().any(|field| field["name"] == *name),
            "{name}"
        );
    }
    let printed = document(&sources, &signer()).unwrap().data.to_string();
    assert!(printed.contains("enclosed originals that may name such a person"));
}

#[test]
fn a_package_that_was_asked_to_name_people_does_and_says_so() {
    let fixture = peopled();
    let sources = with(
        &fixture,
        Terms {
            with_people: true,
            originals_bytes: ORIGINALS_BYTES,
        },
    );
    let bytes = built(&sources).bytes;
    let files = files(&bytes);
    assert!(files.values().any(|data| holds(data, WHO)));
    assert_eq!(
        json(&files, "data/redactions.json")["fields"],
        Value::Array(Vec::new())
    );
    let said = verified(&bytes, None).unwrap().personal_data;
    assert_eq!(said, "named as recorded");
}

#[test]
fn an_original_about_a_resident_stays_on_the_server_unless_people_are_named() {
    let mut fixture = signed();
    let letter = Attachment {
        file_name: "letter.pdf".into(),
        media_type: "application/pdf".into(),
        size_bytes: 3,
        sha256: hex(b"abc"),
        subjects: vec![full("parcels/p-1")],
    };
    fixture.add("attachments/letter", letter);
    for with_people in [false, true] {
        let mut sources = with(
            &fixture,
            Terms {
                with_people,
                originals_bytes: ORIGINALS_BYTES,
            },
        );
        sources.blobs.insert(hex(b"abc"), (&b"abc"[..]).into());
        let bytes = built(&sources).bytes;
        let files = files(&bytes);
        let path = "data/originals/attachments/letter-letter.pdf";
        assert_eq!(files.contains_key(path), with_people);
        let listed = json(&files, "data/originals.json");
        let all = listed["originals"].as_array().unwrap();
        let letter = all.iter().find(|o| o["fileName"] == "letter.pdf").unwrap();
        assert_eq!(letter["sha256"], hex(b"abc"));
        let why = if with_people {
            Value::Null
        } else {
            "about-residents".into()
        };
        assert_eq!(letter["keptByServer"], why);
        let kept = usize::from(!with_people);
        let said = verified(&bytes, None).unwrap().originals;
        assert_eq!(
            said,
            ["2 enclosed", "1 enclosed, 1 kept by the server"][kept]
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_original_over_the_limit_stays_on_the_server_and_the_package_says_so_plainly() {
    let store = stored(&signed()).await;
    let small = Press {
        limits: PackageLimits {
            originals_bytes: NATIVE.len() as i64 - 1,
            ..PackageLimits::default()
        },
        ..press()
    };
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(small)));
    let last = assembled(&service, "one").await.unwrap().pop().unwrap();
    let package = last.package.unwrap();
    assert_eq!(package.kept_original_count, 1);
    let sha256 = obvert_ledger::unhex(&package.sha256).unwrap();
    let bytes = store.ledger.blobs().get(sha256).await.unwrap().unwrap();
    let files = files(&bytes);
    assert!(!files.keys().any(|path| path.starts_with("data/originals/")));
    let listed = json(&files, "data/originals.json");
    let log = &listed["originals"][0];
    assert_eq!(log["keptByServer"], "too-large");
    assert_eq!(log["sha256"], hex(NATIVE));
    assert_eq!(log["sizeBytes"], NATIVE.len());
    assert_eq!(log["file"], Value::Null);
    let said = verified(&bytes, None).unwrap().originals;
    assert_eq!(said, "1 kept by the server");
    let sources = with(
        &signed(),
        Terms {
            with_people: false,
            originals_bytes: 1,
        },
    );
    let printed = document(&sources, &signer()).unwrap().data.to_string();
    assert!(printed.contains("1 original is not in this package and kept by the server: 1 of "));
    assert!(printed.contains("Not in this package: train log 4 May.csv has "));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_that_is_told_to_enclose_little_keeps_the_rest() {
    let folder = prepared("[limits]\npackage_originals_bytes = 10");
    let store = folder.path().join("store");
    std::fs::create_dir(&store).unwrap();
    let ledger = Ledger::open(LedgerConfig::new(&store)).await.unwrap();
    file(&ledger, &signed()).await;
    ledger.close().await;
    let server = Server::start_in(folder);
    let (package, bytes) = same_bytes::assembled(&server).await;
    assert_eq!(package.kept_original_count, 1);
    let said = verified(&bytes, None).unwrap().originals;
    assert_eq!(said, "1 kept by the server");
}
