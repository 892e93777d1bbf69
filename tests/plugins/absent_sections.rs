//! Sections that were asked for and have not come: the document says so, and a file does.

use std::sync::Arc;

use obvert_closeout::{
    Closeout,
    package::{Press, Sources, document},
    plan::{changes, parse},
};
use obvert_plugins::{Kind, Plugins};
use obvert_proto::closeout::v1::PluginSection;
use serde_json::{Value, json};

use super::served::registration;
use crate::{
    closeout::fixture::{Fixture, PLAN, SEGMENT},
    package::{
        assembling::{assembled, stored},
        sample::{built, files, press, signed, signed_under, signer, sources},
    },
};

const ID: &str = "working-hours";

/// Data of the document, and what the file says of each section.
fn made(sources: &Sources) -> (Value, Value) {
    let data = document(sources, &signer()).unwrap().data;
    let file = &files(&built(sources).bytes)["data/plugin-sections.json"];
    let mut file: Value = serde_json::from_slice(file).unwrap();
    (data, file["sections"].take())
}

/// The accepted segment with what a plug-in answered.
fn answered(change: impl FnOnce(&mut PluginSection)) -> Fixture {
    signed_under("", |fixture| {
        let mut section = PluginSection {
            segment: SEGMENT.into(),
            plugin: ID.into(),
            plugin_version: "1.2.3".into(),
            evidence_digest: fixture.file().evidence_digest().to_vec(),
            title: "Hours on site".into(),
            ..PluginSection::default()
        };
        change(&mut section);
        fixture.add("pluginSections/a-1", section);
    })
}

#[track_caller]
fn says(data: &Value, written_by: &str, note: &str) {
    let said = data["plugin_sections"][0]["written_by"].as_str().unwrap();
    assert!(said.contains(written_by), "{said}");
    let notes = data["cover"]["notes"].to_string();
    assert!(notes.contains(note), "{notes}");
}

#[test]
fn a_section_that_nobody_asked_for_is_not_missed() {
    let (data, file) = made(&sources(&signed()));
    assert_eq!(data["plugin_sections"], json!([]));
    assert_eq!(file, json!([]));
    assert!(!data["cover"]["notes"].to_string().contains("plug-in"));
}

#[test]
fn a_section_that_was_not_answered_yet_is_missed_and_who_asked_for_it_is_said() {
    let (plan, server) = (vec![ID.to_owned()], vec![ID.to_owned()]);
    for (plan, server, who) in [
        (&plan[..], &server[..0], "has no such plug-in"),
        (
            &plan[..],
            &server[..],
            "the owner's plan and the server ask",
        ),
        (&plan[..0], &server[..], "the server asks for it"),
    ] {
        let mut sources = sources(&signed());
        Arc::make_mut(&mut sources.loaded.plan)
            .package
            .plugin_sections = plan.to_vec();
        sources.section_plugins = server.to_vec();
        let (data, file) = made(&sources);
        says(&data, who, "working-hours: not answered yet");
        says(&data, "Missing: not answered yet", "1 of 1 section");
        let title = &data["plugin_sections"][0]["title"];
        assert_eq!(title, "Section of the plug-in working-hours");
        let row = &file[0];
        assert_eq!(row["standing"], "not-answered");
        let asked = [&row["askedByPlan"], &row["askedByServer"]];
        assert_eq!(asked, [!plan.is_empty(), !server.is_empty()]);
        assert_eq!(row["record"], Value::Null);
    }
}

#[test]
fn a_fault_and_an_answer_for_older_evidence_are_told_apart_from_a_section() {
    let fault = answered(|section| {
        (section.fault, section.fault_message) = ("late".into(), "no answer within 5 s".into());
    });
    let (data, file) = made(&sources(&fault));
    says(
        &data,
        "Missing: no answer within 5 s (late, ",
        "working-hours: no answer that can be used",
    );
    assert_eq!(file[0]["standing"], "fault");
    assert_eq!(file[0]["fault"], "late");
    let older = answered(|section| section.evidence_digest[0] ^= 1);
    let (data, file) = made(&sources(&older));
    says(
        &data,
        "from other, older evidence",
        "working-hours: answered for older evidence",
    );
    assert_eq!(file[0]["standing"], "older-evidence");
    let (data, file) = made(&sources(&answered(|_| {})));
    says(&data, "from the evidence of this package", "");
    assert!(!data["cover"]["notes"].to_string().contains(ID));
    assert_eq!(file[0]["standing"], "present");
    assert_eq!(file[0]["fault"], Value::Null);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_package_that_is_made_before_the_plug_in_answers_prints_the_section_as_missing() {
    let nowhere = std::path::PathBuf::from("/nowhere/s");
    let mut elsewhere = registration("elsewhere", Kind::PackageSection, nowhere.clone());
    elsewhere.projects = vec!["another".into()];
    let registrations = vec![
        registration(ID, Kind::PackageSection, nowhere.clone()),
        registration("judge", Kind::Evaluator, nowhere),
        elsewhere,
    ];
    let store = stored(&signed()).await;
    let press = Press {
        plugins: Plugins::new(registrations).unwrap(),
        ..press()
    };
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press)));
    let last = assembled(&service, "one").await.unwrap().pop().unwrap();
    let sha256 = obvert_ledger::unhex(&last.package.unwrap().sha256).unwrap();
    let bytes = store.ledger.blobs().get(sha256).await.unwrap().unwrap();
    let files = files(&bytes);
    let file: Value = serde_json::from_slice(&files["data/plugin-sections.json"]).unwrap();
    let sections = file["sections"].as_array().unwrap();
    assert_eq!(sections.len(), 1, "{file}");
    assert_eq!(sections[0]["plugin"], ID);
    assert_eq!(sections[0]["standing"], "not-answered");
    let bookmark = format!("Section of the plug-in {ID})");
    let pdf = &files["data/closeout.pdf"];
    let mut parts = pdf.windows(bookmark.len());
    assert!(parts.any(|part| part == bookmark.as_bytes()), "{bookmark}");
}

#[test]
fn a_plan_names_the_plug_ins_that_it_wants_a_section_of() {
    let with = |ids: &str| {
        let head = format!("[package]\nplugin_sections = {ids}\n\n[[limit]]");
        parse(&PLAN.replacen("[[limit]]", &head, 1))
    };
    let before = parse(PLAN).unwrap();
    let after = with("[\"working-hours\", \"air\"]").unwrap();
    assert_eq!(after.package.plugin_sections, [ID, "air"]);
    assert_eq!(
        changes(&before, &after),
        ["sections asked of plug-ins were nothing and are working-hours, air"]
    );
    let faults = with("[\"air\", \"air\", \"\"]").unwrap_err();
    assert!(faults[0].message.contains("\"air\" twice"), "{faults:?}");
    assert!(
        faults[1].message.contains("1 to 60 characters"),
        "{faults:?}"
    );
}
