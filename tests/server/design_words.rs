//! What the command line asks of the design service: many walls at once, an installed liner, and
//! the sheets of a record.

use std::{fs, path::Path, process::Command};

use obvert_proto::{
    common::v1::{Thickness, ThicknessBasis},
    design::v1::{AsBuiltInputs, HydraulicCheck, WallDesign, WallInputs},
    pool,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;
use serde_json::Value;

use super::support::{Server, program};
use crate::services::{design::sourced, design_checks::hydraulics};

const DESIGN: &str = "projects/quillfern/designs/d-1";

struct Office(Server);

impl Office {
    /// A server with one project, one segment and one stored wall design.
    fn with_design() -> Self {
        let office = Self(Server::start(""));
        office.0.write_office_key();
        office.file(
            "project.json",
            r#"{"title": "Quillfern Lane", "contractNumber": "MSD-2026-07",
            "owner": "Marrowby Sanitary District", "contractor": "Copperbeck Utilities",
            "timeZone": "America/New_York", "payLengthBasis": "LENGTH_BASIS_WALL_TO_WALL"}"#,
        );
        office.file(
            "segment.json",
            r#"{"ownerSegmentId": "S-1", "upstreamManhole": "MQ-1", "downstreamManhole": "MQ-2",
            "nominalDiameterMm": 1200, "lengthCentreToCentreM": 91.4, "lengthWallToWallM": 90.2}"#,
        );
        let design = WallDesign {
            segment: "projects/quillfern/segments/s-1".into(),
            inputs: Some(sourced()),
            ..WallDesign::default()
        };
        office.file("design.json", &json_of(&design));
        office.done("project create quillfern project.json");
        office.done("segment create s-1 segment.json --project quillfern");
        office.done("wall-design create d-1 design.json --project quillfern");
        office
    }

    fn folder(&self) -> &Path {
        self.0.folder.path()
    }

    fn file(&self, name: &str, text: &str) {
        fs::write(self.folder().join(name), text).unwrap();
    }

    /// Exit code, and what it printed on both ways.
    fn obvert(&self, words: &str) -> (i32, String) {
        let ended = Command::new(program("obvert"))
            .current_dir(self.folder())
            .args(["--server", &format!("http://{}", self.0.address)])
            .args(["--key-file", "office.key"])
            .args(words.split(' '))
            .output()
            .unwrap();
        let printed = [ended.stdout, ended.stderr].concat();
        (
            ended.status.code().unwrap_or(-1),
            String::from_utf8_lossy(&printed).into_owned(),
        )
    }

    fn done(&self, words: &str) -> String {
        let (code, printed) = self.obvert(words);
        assert_eq!(code, 0, "{words}: {printed}");
        printed
    }
}

fn json_of<M: Message + Name>(message: &M) -> String {
    let shape = pool().get_message_by_name(&M::full_name()).unwrap();
    let mut dynamic = DynamicMessage::new(shape);
    dynamic.transcode_from(message).unwrap();
    serde_json::to_string(&dynamic).unwrap()
}

#[test]
fn all_walls_of_a_project_are_worked_out_beside_the_stored_ones() {
    let office = Office::with_design();
    let printed = office.done("wall-design check-all --project quillfern");
    for part in [DESIGN, "25.615 mm", "26.00 mm", "X1.3", "same"] {
        assert!(printed.contains(part), "{part}: {printed}");
    }
    let printed = office.done("--json wall-design check-all --project quillfern");
    let row: Value = serde_json::from_str(printed.trim()).unwrap();
    assert_eq!(row["row"], DESIGN);
    assert_eq!(
        row["orderWallThicknessMm"],
        row["storedOrderWallThicknessMm"]
    );
    assert_eq!(row["governingCheck"], "X1.3");
}

#[test]
fn one_wall_is_shown_with_its_station_its_basis_and_every_note() {
    let office = Office::with_design();
    office.file("inputs.json", &json_of(&sourced()));
    let printed = office.done("wall-design check inputs.json");
    for part in [
        "required 25.615 mm by check X1.3 at station 0.0 m, order 26.00 mm, structural laminate",
        "Note: Only one section is checked",
        "the wall hangs most on",
    ] {
        assert!(printed.contains(part), "{part}: {printed}");
    }
    let printed = office.done("--json wall-design check inputs.json");
    let answer: Value = serde_json::from_str(&printed).unwrap();
    assert_eq!(answer["governingCheck"], "X1.3");
    assert_eq!(answer["thicknessBasis"], "THICKNESS_BASIS_STRUCTURAL");
    assert_eq!(answer["checks"].as_array().unwrap().len(), 4);
    assert!(!answer["sensitivities"].as_array().unwrap().is_empty());
}

#[test]
fn rows_of_a_file_are_answered_in_order_and_the_bad_ones_named() {
    let office = Office::with_design();
    let fraction = WallInputs {
        ovality_percent: 0.02,
        ..sourced()
    };
    let rows = [
        json_of(&sourced()),
        "{".into(),
        json_of(&fraction),
        json_of(&sourced()),
    ];
    office.file("rows.jsonl", &rows.join("\n"));
    let (code, printed) = office.obvert("wall-design check-all rows.jsonl");
    assert_ne!(code, 0, "{printed}");
    for part in [
        "2 of 4 rows are refused",
        "looks like a fraction",
        "25.615 mm",
    ] {
        assert!(printed.contains(part), "{part}: {printed}");
    }
    let (_, printed) = office.obvert("--json wall-design check-all rows.jsonl");
    let answers: Vec<Value> = printed
        .lines()
        .filter_map(|row| serde_json::from_str(row).ok())
        .filter(|row: &Value| row["row"].is_string())
        .collect();
    let called: Vec<_> = answers.iter().map(|row| row["row"].clone()).collect();
    assert_eq!(called, ["1", "2", "3", "4"], "{printed}");
    assert!(answers[1]["wrong"].is_array() && answers[2]["wrong"].is_array());
    assert_eq!(
        answers[0]["requiredWallThicknessMm"],
        answers[3]["requiredWallThicknessMm"]
    );
}

#[test]
fn an_installed_liner_is_asked_about_without_storing_anything() {
    let office = Office::with_design();
    let inputs = sourced();
    let measured = AsBuiltInputs {
        wall: Some(Thickness {
            wall_thickness_mm: 24.0,
            basis: ThicknessBasis::Structural.into(),
        }),
        short_term_flexural_modulus_mpa: inputs.short_term_flexural_modulus_mpa,
        short_term_flexural_strength_mpa: inputs.short_term_flexural_strength_mpa,
        ..AsBuiltInputs::default()
    };
    office.file("measured.json", &json_of(&measured));
    office.file("inputs.json", &json_of(&inputs));
    let before = office.done("--json as-built-check list --project quillfern");
    let named = office.done(&format!(
        "as-built-check check measured.json --design {DESIGN}"
    ));
    for part in [
        "X1.3",
        "is no acceptance",
        "Beside projects/quillfern/designs/d-1@",
    ] {
        assert!(named.contains(part), "{part}: {named}");
    }
    let given = "--json as-built-check check measured.json --design-file inputs.json";
    let answer: Value = serde_json::from_str(&office.done(given)).unwrap();
    let soil = answer["checks"].as_array().unwrap();
    let soil = soil.iter().find(|check| check["equation"] == "X1.3");
    // The load that X1.3 bears goes with the power 1.5 of the wall: 25.6148 mm bear it at 2.
    let expected = 2.0 * (24.0_f64 / 25.6148).powf(1.5);
    let reached = soil.unwrap()["achievedSafetyFactor"].as_f64().unwrap();
    assert!((reached - expected).abs() < 1e-4, "{reached} {expected}");
    let (code, printed) = office.obvert("as-built-check check measured.json");
    assert_ne!(code, 0);
    assert!(
        printed.contains("name a stored wall design, or give"),
        "{printed}"
    );
    let after = office.done("--json as-built-check list --project quillfern");
    assert_eq!(before, after, "nothing was stored");
}

#[test]
fn a_sheet_is_written_to_a_new_file_and_shown_as_a_page() {
    let office = Office::with_design();
    office.done(&format!("wall-design sheet {DESIGN} --out sheet.pdf"));
    let pdf = fs::read(office.folder().join("sheet.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-"));
    let (code, _) = office.obvert(&format!("wall-design sheet {DESIGN} --out sheet.pdf"));
    assert_ne!(code, 0, "a file is never written over");
    for path in ["designs/d-1", "sheets/designs/d-1"] {
        let head = format!(
            "GET /projects/quillfern/{path} HTTP/1.1\r\nauthorization: Bearer {}",
            office.0.key()
        );
        let page = office.0.http(&head, "");
        assert!(
            page.contains("Calculation sheet: liner wall, segment S-1"),
            "{page}"
        );
    }
}

#[test]
fn a_check_beside_the_wall_has_its_sheet_in_a_file_and_on_a_page() {
    let office = Office::with_design();
    let check = HydraulicCheck {
        segment: "projects/quillfern/segments/s-1".into(),
        ..hydraulics(0.010)
    };
    office.file("check.json", &json_of(&check));
    office.done("hydraulic-check create h-1 check.json --project quillfern");
    let name = "projects/quillfern/hydraulicChecks/h-1";
    office.done(&format!(
        "hydraulic-check sheet {name} --html --out flow.html"
    ));
    let file = fs::read_to_string(office.folder().join("flow.html")).unwrap();
    let head = format!(
        "GET /projects/quillfern/sheets/hydraulicChecks/h-1 HTTP/1.1\r\nauthorization: Bearer {}",
        office.0.key()
    );
    let page = office.0.http(&head, "");
    for text in [&file, &page] {
        assert!(
            text.contains("capacity of the lined pipe, segment S-1"),
            "{text}"
        );
        assert!(text.contains("20.74"), "{text}");
    }
}
