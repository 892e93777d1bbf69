//! Another version of a plug-in writes its section again, except what is past.

use std::time::Duration;

use obvert_closeout::{
    load_segment,
    package::{Sources, Terms, document},
};
use obvert_ledger::Ledger;
use obvert_plugins::Kind;
use obvert_proto::{closeout::v1::PluginSection, project::v1::Parcel};
use prost::Message;
use serde_json::Value;
use tonic::Status;

use super::{
    site::{Site, ask, within_patience},
    writer::{ID, Writer, paragraph},
};
use crate::{
    closeout::fixture::{SEGMENT, full, store},
    package::{
        assembling::stored,
        sample::{built, files, signed, signer},
    },
};

/// What a package of the segment would be made of at a revision.
async fn sources(ledger: &Ledger, revision: i64) -> Sources {
    let loaded = load_segment(ledger, SEGMENT, revision).await.unwrap();
    let sources = Sources::read(ledger, loaded, Terms::default());
    sources.await.unwrap()
}

/// Who wrote which paragraph, as the document at a revision prints it.
async fn printed(ledger: &Ledger, revision: i64) -> (String, Value) {
    let sources = sources(ledger, revision).await;
    let mut data = document(&sources, &signer()).unwrap().data;
    let sections = data["plugin_sections"].take();
    assert_eq!(sections.as_array().unwrap().len(), 1, "{sections}");
    let by = sections[0]["written_by"].as_str().unwrap().to_owned();
    (by, sections[0]["blocks"].clone())
}

/// Revision at which the section of a version came, and the section.
async fn written_by(ledger: &Ledger, version: &str) -> (i64, PluginSection) {
    within_patience(async || {
        let loaded = load_segment(ledger, SEGMENT, 0).await.unwrap();
        let [section] = &loaded.file.plugin_sections[..] else {
            return None;
        };
        let is_wanted = section.plugin_version == version;
        is_wanted.then(|| (section.revision, section.message.clone()))
    })
    .await
}

/// Commits a record that is no evidence of the segment, after which plug-ins are asked who they are.
async fn something_else(site: &mut Site) {
    let name = full("parcels/elsewhere");
    site.fixture.put(&name, &Parcel::default());
    let stored = &site.fixture.records[&name];
    store::commit(
        &site.ledger,
        "quillfern",
        vec![stored],
        site.fixture.time_ms,
    )
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_older_section_stands_until_the_newer_one_which_takes_its_place_in_the_package() {
    let mut site = Site::under("").await;
    let writer = Writer::new("1.0.0", |r| Ok(paragraph(r, "By day.".into())));
    let served = writer.serve();
    site.ask(served.plugin(ID, Kind::PackageSection));
    let (before, _) = written_by(&site.ledger, "1.0.0").await;
    writer.becomes("2.0.0", |r| Ok(paragraph(r, "By day and by night.".into())));
    something_else(&mut site).await;
    let (after, section) = written_by(&site.ledger, "2.0.0").await;
    assert!(
        after > before + 1,
        "a commit lies between: {before}, {after}"
    );
    for revision in before..after {
        let (by, blocks) = printed(&site.ledger, revision).await;
        let says = "version 1.0.0, from the evidence of this package";
        assert!(by.contains(says), "@{revision}: {by}");
        assert!(blocks.to_string().contains("\"By day.\""), "{blocks}");
    }
    let (by, blocks) = printed(&site.ledger, after).await;
    let says = "version 2.0.0, from the evidence of this package";
    assert!(by.contains(says), "{by}");
    assert!(blocks.to_string().contains("by night"), "{blocks}");
    assert_eq!(writer.asked_count(), 2, "each version is asked once");
    let files = files(&built(&sources(&site.ledger, after).await).bytes);
    let records = files
        .iter()
        .filter(|(path, _)| path.contains("pluginSections"));
    let texts: Vec<_> = records
        .map(|(_, text)| String::from_utf8_lossy(text))
        .collect();
    assert!(!texts.is_empty(), "{:?}", files.keys());
    let named = |version: &str| texts.iter().any(|text| text.contains(version));
    assert!(named("\"pluginVersion\": \"2.0.0\""), "{texts:?}");
    let former = site
        .ledger
        .list("quillfern".into(), "pluginSections".into(), None, 9, before);
    let former = former.await.unwrap().items.remove(0);
    let former = PluginSection::decode(former.body).unwrap();
    assert_eq!(former.plugin_version, "1.0.0");
    assert_eq!(former.evidence_digest, section.evidence_digest);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_newer_version_that_cannot_write_leaves_no_older_section_in_the_package() {
    let mut site = Site::under("").await;
    let writer = Writer::new("1.0.0", |r| Ok(paragraph(r, "By day.".into())));
    let served = writer.serve();
    site.ask(served.plugin(ID, Kind::PackageSection));
    written_by(&site.ledger, "1.0.0").await;
    writer.becomes("2.0.0", |_| Err(Status::internal("no ink")));
    something_else(&mut site).await;
    let (after, section) = written_by(&site.ledger, "2.0.0").await;
    assert_eq!(section.fault, "failed");
    let (by, blocks) = printed(&site.ledger, after).await;
    assert!(
        by.starts_with("Missing: ") && by.contains("(failed, "),
        "{by}"
    );
    assert_eq!(blocks, serde_json::json!([]), "nothing of the older one");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_newer_version_alone_is_asked_for_no_section_of_an_accepted_segment() {
    let store = stored(&signed()).await;
    let older = Writer::new("1.0.0", |r| Ok(paragraph(r, "By day.".into())));
    let served = older.serve();
    let stop = ask(&store.ledger, served.plugin(ID, Kind::PackageSection));
    let (revision, _) = written_by(&store.ledger, "1.0.0").await;
    drop(stop);
    let newer = Writer::new("2.0.0", |r| Ok(paragraph(r, "By night.".into())));
    let served = newer.serve();
    let _stop = ask(&store.ledger, served.plugin(ID, Kind::PackageSection));
    within_patience(async || (newer.described_count() > 0).then_some(())).await;
    // Between who it is and what it would be asked lie some milliseconds.
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(newer.asked_count(), 0);
    let (by, _) = printed(&store.ledger, 0).await;
    assert!(by.contains("version 1.0.0"), "{by}");
    let head = store.ledger.head("quillfern".into()).await.unwrap();
    assert_eq!(head.revision, revision, "nothing was committed");
}
