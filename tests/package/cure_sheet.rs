//! The cure log as the document prints it: what is judged, and what is only told.

use obvert_closeout::package::document;
use obvert_proto::{
    installation::v1::{CureFigures, CureRecord},
    material::v1::{MakerSheet, ToleranceBand},
};
use prost::Message;
use serde_json::Value;

use super::sample::{signed, signer, sources};

const SHEET: &str = "projects/office/makerSheets/ms-1";
const HOTTEST: &str = "Wall temperature, highest of all sensors";

/// Verdict and limit of each figure of the wall's temperature, by its name, for peaks of the sensors
/// under a tolerance of 60 to 150 degrees.
fn printed(peaks: &[f64]) -> Vec<(String, String, String)> {
    let mut fixture = signed();
    let mut sheet = MakerSheet::decode(fixture.records[SHEET].body.clone()).unwrap();
    sheet.bands = vec![ToleranceBand {
        wall_temperature_min_celsius: Some(60.0),
        wall_temperature_max_celsius: Some(150.0),
        ..ToleranceBand::default()
    }];
    fixture.put(SHEET, &sheet);
    let revision = fixture.records[SHEET].revision;
    fixture.edit::<CureRecord>("cureRecords/u-1", |log| {
        log.maker_sheet = SHEET.into();
        log.maker_sheet_revision = revision;
        let figures = log.figures.get_or_insert_with(CureFigures::default);
        figures.wall_temperature_peak_celsius = peaks.to_vec();
    });
    let document = document(&sources(&fixture), &signer()).unwrap();
    let mut found = Vec::new();
    gather(&document.data, &mut found);
    found
}

/// Every figure of the wall's temperature below a value.
fn gather(value: &Value, found: &mut Vec<(String, String, String)>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| gather(item, found)),
        Value::Object(fields) => {
            let text = |value: &Value| value["text"].as_str().unwrap_or_default().to_owned();
            let name = value["name"].as_str().unwrap_or_default();
            if name.starts_with("Wall temperature") {
                let state = value["state"]["word"].as_str().unwrap_or_default();
                found.push((name.to_owned(), state.to_owned(), text(&value["limit"])));
            }
            fields.values().for_each(|inner| gather(inner, found));
        }
        _ => {}
    }
}

#[test]
fn only_the_hottest_sensor_is_judged_and_one_ahead_of_the_lamps_is_told() {
    // The second sensor runs ahead of the lamps and sees no peak; the third gave nothing.
    let rows = printed(&[112.0, 41.0, f64::NAN]);
    let names: Vec<_> = rows.iter().map(|(name, _, _)| name.as_str()).collect();
    let told = (1..=3).map(|place| format!("Wall temperature, peak of sensor {place}"));
    let expected: Vec<_> = std::iter::once(HOTTEST.to_owned()).chain(told).collect();
    assert_eq!(names, expected);
    assert_eq!(rows[0].1, "within the entered tolerance", "{rows:?}");
    assert!(rows[0].2.starts_with("60"), "{rows:?}");
    for (name, state, limit) in &rows[1..] {
        assert_eq!(
            (state.as_str(), limit.as_str()),
            ("not judged", "for information"),
            "{name}"
        );
    }
}

#[test]
fn a_hottest_sensor_beyond_either_limit_is_outside_the_tolerance() {
    for peaks in [[151.0, 41.0], [41.0, 59.0]] {
        let rows = printed(&peaks);
        assert_eq!(rows[0].1, "outside the entered tolerance", "{rows:?}");
        let judged = rows.iter().filter(|(_, state, _)| state != "not judged");
        assert_eq!(judged.count(), 1, "{rows:?}");
    }
}
