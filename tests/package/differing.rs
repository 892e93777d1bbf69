//! `obvert package diff`: two packages of one segment beside each other.

use std::{fs, path::Path, process::Command};

use ed25519_dalek::SigningKey;
use obvert_proto::{acceptance::v1::LeakTest, project::v1::Segment};
use serde_json::Value;

use super::{
    forging::signed_by,
    sample::{built, files, package, signed, signed_under, sources},
};
use crate::{closeout::fixture::Fixture, server::support::program};

/// Runs the diff; its exit code and what it printed for programs.
fn diff(older: &Fixture, newer: &Fixture) -> (Option<i32>, Value) {
    let folder = tempfile::tempdir().unwrap();
    let paths = [("older.zip", older), ("newer.zip", newer)].map(|(name, fixture)| {
        let path = folder.path().join(name);
        fs::write(&path, built(&sources(fixture)).bytes).unwrap();
        path
    });
    run(&paths[0], &paths[1])
}

fn run(older: &Path, newer: &Path) -> (Option<i32>, Value) {
    let ended = Command::new(program("obvert"))
        .args(["package", "diff", "--json"])
        .args([older, newer])
        .output()
        .unwrap();
    let said = serde_json::from_slice(&ended.stdout).unwrap_or(Value::Null);
    (ended.status.code(), said)
}

#[test]
fn a_package_does_not_differ_from_itself() {
    let fixture = signed();
    let (code, said) = diff(&fixture, &fixture);
    assert_eq!(code, Some(0));
    for part in ["records", "points", "files"] {
        assert_eq!(said["difference"][part], Value::Array(Vec::new()), "{part}");
    }
}

#[test]
fn a_changed_figure_is_named_by_record_revision_and_field_and_with_it_the_point_it_touches() {
    let older = signed();
    let mut newer = older.clone();
    newer.edit::<LeakTest>("leakTests/t-1", |test| test.end_pressure_kpa = Some(18.25));
    let (code, said) = diff(&older, &newer);
    assert_eq!(code, Some(1));
    let records = said["difference"]["records"].as_array().unwrap();
    assert_eq!(records.len(), 1, "{records:?}");
    let test = &records[0];
    assert_eq!(test["name"], "projects/quillfern/leakTests/t-1");
    assert_eq!(test["standing"], "changed");
    assert!(test["newRevision"].as_u64() > test["oldRevision"].as_u64());
    assert_eq!(test["fields"][0]["field"], "endPressureKpa");
    assert_eq!(test["fields"][0]["new"], 18.25);
    let points = said["difference"]["points"].as_array().unwrap();
    assert!(!points.is_empty());
    assert!(points.iter().all(|point| point["facts"] == true));
}

#[test]
fn a_changed_figure_is_printed_with_its_label_and_unit() {
    let older = signed();
    let mut newer = older.clone();
    newer.edit::<LeakTest>("leakTests/t-1", |test| test.end_pressure_kpa = Some(18.25));
    let folder = tempfile::tempdir().unwrap();
    let paths = [("older.zip", &older), ("newer.zip", &newer)].map(|(name, fixture)| {
        let path = folder.path().join(name);
        fs::write(&path, built(&sources(fixture)).bytes).unwrap();
        path
    });
    let mut command = Command::new(program("obvert"));
    let ended = command.args(["package", "diff"]).args(paths).output();
    let ended = ended.unwrap();
    let said = String::from_utf8(ended.stdout).unwrap();
    assert!(
        said.contains("end pressure") && said.contains("18.25 kPa"),
        "{said}"
    );
    let told = String::from_utf8(ended.stderr).unwrap();
    assert!(told.contains("these differ: 1 record, "), "{told}");
    assert!(!told.contains(" 0 "), "{told}");
}

#[test]
fn a_record_that_is_gone_or_new_is_said_to_be() {
    let older = signed();
    let mut newer = older.clone();
    newer.edit::<Segment>("segments/s-1", |_| {});
    newer.remove("leakTests/t-1");
    let (_, said) = diff(&older, &newer);
    let standing = |said: &Value| {
        let records = said["difference"]["records"].as_array().unwrap();
        let found = records
            .iter()
            .find(|r| r["name"] == "projects/quillfern/leakTests/t-1");
        found.map(|record| record["standing"].clone())
    };
    assert_eq!(standing(&said), Some("gone".into()));
    let (_, said) = diff(&newer, &older);
    assert_eq!(standing(&said), Some("added".into()));
}

#[test]
fn a_damaged_package_is_refused_before_anything_is_compared() {
    let folder = tempfile::tempdir().unwrap();
    let (whole, damaged) = (folder.path().join("a.zip"), folder.path().join("b.zip"));
    let mut bytes = built(&sources(&signed())).bytes;
    fs::write(&whole, &bytes).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&damaged, &bytes).unwrap();
    assert_eq!(run(&whole, &damaged), (Some(8), Value::Null));
}

#[test]
fn the_same_content_under_another_key_differs_by_its_signer() {
    let folder = tempfile::tempdir().unwrap();
    let own = SigningKey::from_bytes(&[8; 32]);
    let bytes = package();
    let bagit = files(&bytes)["bagit.txt"].clone();
    let paths = ["genuine.zip", "other.zip"].map(|name| folder.path().join(name));
    fs::write(&paths[0], &bytes).unwrap();
    fs::write(&paths[1], signed_by(&own, "bagit.txt", &bagit)).unwrap();
    let mut command = Command::new(program("obvert"));
    let ended = command.args(["package", "diff"]).args(&paths).output();
    let ended = ended.unwrap();
    let said = String::from_utf8([ended.stdout, ended.stderr].concat()).unwrap();
    assert_eq!(ended.status.code(), Some(1), "{said}");
    assert!(said.contains("these differ: the signer"), "{said}");
    let label = &run(&paths[0], &paths[1]).1["difference"]["labels"][0];
    assert_eq!(label["label"], "signer");
    for which in ["old", "new"] {
        let fingerprint = label[which].as_str().unwrap();
        assert!(said.contains(fingerprint), "{which}: {said}");
    }
}

#[test]
fn a_point_that_the_older_plan_had_not_is_added_and_has_no_other_facts() {
    let older = signed();
    let point = "\n[[point]]\nid = \"survey-again\"\ntitle = \"Pipe measured\"\nclass = \"review\"\n\
                 evaluator = \"field-survey\"\nsource_clause = \"2.2\"\nstage = \"before ordering\"\n";
    let newer = signed_under(point, |_| {});
    let (_, said) = diff(&older, &newer);
    let points = said["difference"]["points"].as_array().unwrap();
    let added = points
        .iter()
        .find(|p| p["point"] == "survey-again")
        .unwrap();
    assert_eq!(added["old"], Value::Null);
    assert_eq!(added["facts"], false, "{added}");
}
