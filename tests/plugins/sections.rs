//! A section that a plug-in wrote: kept as a record, printed in the document of the package.

use obvert_closeout::{
    load_segment,
    package::{Sources, Terms, document},
};
use obvert_plugin_example::HoursOnSite;
use obvert_plugins::Kind;
use obvert_proto::{
    closeout::v1::{PluginSection, PluginVerdict, SectionBlock, Verdict, section_block::Block},
    plugin::v1::package_section_service_server::PackageSectionServiceServer,
};
use tonic::{Status, transport::Server};

use super::{
    served::Served,
    site::{Site, point},
    writer::{ID, Write, Writer, paragraph},
};
use crate::{
    closeout::fixture::SEGMENT,
    package::{
        assembling::stored,
        sample::{built, files, signed_under, signer, verified},
    },
    server::support::PATIENCE,
};

/// The section of a plug-in once it is on file.
async fn written(site: &Site) -> PluginSection {
    let begun = std::time::Instant::now();
    loop {
        let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
        if let Some(section) = loaded.file.plugin_sections.first() {
            return section.message.clone();
        }
        assert!(begun.elapsed() < PATIENCE, "no section came");
        tokio::time::sleep(std::time::Duration::from_millis(20)).await;
    }
}

/// Data of the document that a package of the segment would have.
async fn printed(site: &Site) -> serde_json::Value {
    let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    let sources = Sources::read(&site.ledger, loaded, Terms::default())
        .await
        .unwrap();
    let document = document(&sources, &signer()).unwrap();
    document.data["plugin_sections"].clone()
}

#[tokio::test]
async fn the_example_writes_a_section_and_the_document_prints_it() {
    let site = Site::under("").await;
    assert_eq!(printed(&site).await, serde_json::json!([]));
    let service = PackageSectionServiceServer::new(HoursOnSite);
    let served = Served::of(Server::builder().add_service(service));
    site.ask(served.plugin(ID, Kind::PackageSection));
    let section = written(&site).await;
    assert_eq!(
        (section.title.as_str(), section.fault.as_str()),
        ("Hours on site", "")
    );
    let printed = printed(&site).await;
    assert_eq!(printed[0]["title"], "Hours on site");
    let by = printed[0]["written_by"].as_str().unwrap();
    assert!(by.contains("from the evidence of this package"), "{by}");
    let run = printed[0]["blocks"][1]["rows"][0][0].as_str().unwrap();
    assert!(run.starts_with("r-1@"), "{run}");
}

#[tokio::test]
async fn a_section_that_cannot_be_used_is_printed_as_missing_with_its_reason() {
    let cases: [(Write, &str); 4] = [
        (|_| Err(Status::internal("no ink")), "failed"),
        (|r| Ok(paragraph(r, "x".repeat(5_000))), "breaks-contract"),
        (
            |r| {
                let mut answer = paragraph(r, "x".into());
                answer.segment.push('x');
                Ok(answer)
            },
            "other-segment",
        ),
        (
            |r| {
                let mut answer = paragraph(r, "x".into());
                answer.title.clear();
                Ok(answer)
            },
            "breaks-contract",
        ),
    ];
    for (case, fault) in cases {
        let site = Site::under("").await;
        let served = Writer::new("1.0.0", case).serve();
        site.ask(served.plugin(ID, Kind::PackageSection));
        assert_eq!(written(&site).await.fault, fault);
        let printed = printed(&site).await;
        let by = printed[0]["written_by"].as_str().unwrap();
        assert!(by.starts_with("Missing: ") && by.contains(fault), "{by}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_package_contains_the_verdict_and_the_section() {
    let fixture = signed_under(&point(ID, ""), |fixture| {
        let evidence_digest = fixture.file().evidence_digest().to_vec();
        let verdict = PluginVerdict {
            segment: SEGMENT.into(),
            point: ID.into(),
            evaluator: ID.into(),
            evaluator_version: "1.2.3".into(),
            evidence_digest: evidence_digest.clone(),
            verdict: Verdict::Released.into(),
            ..PluginVerdict::default()
        };
        fixture.add("pluginVerdicts/a-1", verdict);
        let section = PluginSection {
            segment: SEGMENT.into(),
            plugin: ID.into(),
            plugin_version: "1.2.3".into(),
            evidence_digest,
            title: "Hours on site".into(),
            blocks: vec![SectionBlock {
                block: Some(Block::Paragraph("All by day.".into())),
            }],
            ..PluginSection::default()
        };
        fixture.add("pluginSections/a-1", section);
    });
    let store = stored(&fixture).await;
    let loaded = load_segment(&store.ledger, SEGMENT, 0).await.unwrap();
    let sources = Sources::read(&store.ledger, loaded, Terms::default())
        .await
        .unwrap();
    let printed = document(&sources, &signer()).unwrap().data;
    assert_eq!(printed["plugin_sections"][0]["title"], "Hours on site");
    let bytes = built(&sources).bytes;
    verified(&bytes, None).unwrap();
    let files = files(&bytes);
    for (collection, said) in [
        ("pluginVerdicts", "\"evaluatorVersion\": \"1.2.3\""),
        ("pluginSections", "All by day."),
    ] {
        let found = files.iter().find(|(path, _)| path.contains(collection));
        let (path, data) = found.unwrap_or_else(|| panic!("no {collection}: {:?}", files.keys()));
        let text = String::from_utf8_lossy(data);
        assert!(text.contains(said), "{path}: {text}");
    }
}
