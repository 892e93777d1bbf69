//! What a package holds, and that it is always the same.

use obvert_closeout::package::{build, document};
use obvert_proto::rules::field_words;
use serde_json::Value;

use super::sample::{NATIVE, VERSION, built, files, package, press, signed, signer, sources};

#[test]
fn the_same_sources_give_the_same_bytes() {
    assert_eq!(package(), package());
}

#[test]
fn another_program_version_gives_other_bytes() {
    let sources = sources(&signed());
    let other = build(&sources, &press(), "0.0.1", |_| {}).unwrap();
    assert_ne!(other.bytes, built(&sources).bytes);
    assert_ne!(VERSION, "0.0.1");
}

#[test]
fn originals_are_untouched_and_samples_stand_beside_them_in_si() {
    let files = files(&package());
    let original = files
        .iter()
        .find(|(path, _)| path.starts_with("data/originals/cureRecords/"));
    let (path, data) = original.unwrap();
    assert_eq!(data, NATIVE);
    assert!(path.ends_with("-train_log_4_May.csv"), "{path}");
    let series = files
        .iter()
        .find(|(path, _)| path.starts_with("data/series/"))
        .unwrap()
        .1;
    let text = std::str::from_utf8(series).unwrap();
    let mut rows = text.lines();
    assert_eq!(
        rows.next().unwrap(),
        "time_utc,lamp_mask,position_m,speed_m_per_min,pressure_kpa,infrared_1_celsius,\
         infrared_2_celsius"
    );
    assert_eq!(
        rows.next().unwrap(),
        "2026-05-04T13:30:00Z,0x000,0.000,0.84,54.5,40.0,39.0"
    );
    assert_eq!(text.lines().count(), 1_801);
    assert_eq!(
        files
            .keys()
            .filter(|path| path.starts_with("data/plots/"))
            .count(),
        6
    );
}

#[test]
fn every_record_of_the_file_is_in_the_package_with_its_schema() {
    let fixture = signed();
    let files = files(&built(&sources(&fixture)).bytes);
    for stored in fixture.records.values() {
        let found = files.iter().find(|(path, data)| {
            let value = || serde_json::from_slice::<Value>(data).unwrap();
            let is_it = |value: Value| {
                value["name"] == stored.name.as_str() && value["revision"] == stored.revision
            };
            path.starts_with("data/records/") && is_it(value())
        });
        let (_, data) = found.unwrap_or_else(|| panic!("{} is missing", stored.name));
        let value: Value = serde_json::from_slice(data).unwrap();
        assert_eq!(value["type"], stored.type_name.as_str());
        assert!(files.contains_key(&format!("data/schema/{}.schema.json", stored.type_name)));
    }
}

#[test]
fn every_json_file_has_a_schema_of_its_name() {
    let files = files(&package());
    let names = files.keys().filter_map(|path| {
        let name = path.strip_prefix("data/")?.strip_suffix(".json")?;
        (!name.contains('/')).then_some(name)
    });
    let names: Vec<_> = names.collect();
    assert!(names.len() >= 5, "{names:?}");
    for name in names {
        let schema = &files[&format!("data/schema/{name}.schema.json")];
        let schema: Value = serde_json::from_slice(schema).unwrap();
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
    }
}

#[test]
fn a_corrected_value_stays_readable() {
    let files = files(&package());
    let corrections: Value = serde_json::from_slice(&files["data/corrections.json"]).unwrap();
    let field = &corrections["corrections"][0]["fields"][0];
    assert_eq!(field["field"], "contractNumber");
    assert_eq!(field["old"], "typed wrong");
    let printed = document(&sources(&signed()), &signer()).unwrap().data;
    let row = &printed["corrections"]["rows"][0];
    assert_eq!(row["field"], "contract number", "the document prints words");
}

#[test]
fn a_field_is_called_by_its_label_and_unit_and_an_element_of_a_list_by_its_place() {
    for (kind, path, label, unit) in [
        (
            "installation.v1.Run",
            "pullForceMaxKn",
            "pull force max",
            "kN",
        ),
        (
            "material.v1.LinerOrder",
            "wall.wallThicknessMm",
            "wall, wall thickness",
            "mm",
        ),
        (
            "acceptance.v1.LaboratoryReport",
            "specimens[1].widthMm",
            "specimen 2, width",
            "mm",
        ),
        ("material.v1.LinerCertificate", "batches[0]", "batch 1", ""),
        (
            "material.v1.LinerOrder",
            "orderDate.day",
            "order date, day",
            "",
        ),
        (
            "material.v1.LinerOrder",
            "notOfThisSchema",
            "notOfThisSchema",
            "",
        ),
    ] {
        let words = field_words(&format!("obvert.{kind}"), path);
        assert_eq!((words.label.as_str(), words.unit), (label, unit), "{path}");
    }
}

#[test]
fn the_document_prints_points_cure_log_and_verification() {
    let files = files(&package());
    let pdf = &files["data/closeout.pdf"];
    assert!(pdf.starts_with(b"%PDF-1.7"));
    let holds = |text: &str| pdf.windows(text.len()).any(|part| part == text.as_bytes());
    for title in [
        "1 From design to pipe",
        "4 Cure log",
        "15 How to verify this package",
    ] {
        assert!(holds(&format!("/Title({title})")), "no bookmark '{title}'");
    }
}

#[test]
fn a_value_of_an_enumeration_is_told_in_words_without_its_prefix() {
    let kind = |name: &str| obvert_proto::pool().get_enum_by_name(name).unwrap();
    let paper = kind("obvert.project.v1.Paper");
    assert_eq!(obvert_proto::enum_word(&paper, "PAPER_A4"), "a4");
    let provenance = kind("obvert.common.v1.Provenance");
    let word = obvert_proto::enum_word(&provenance, "PROVENANCE_MAKER_DECLARED");
    assert_eq!(word, "maker declared");
}
