//! What the crew counted and measured before anything was ordered: registers of laterals and field
//! surveys.

use std::io;

use serde_json::json;

use crate::{
    dice::Dice,
    folder::{Folder, Row, name},
    site::{Pipe, Site},
    when::{instant, later},
};

/// Writes both.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let registers: Vec<_> = site.pipes.iter().map(register).collect();
    folder.records("registers.jsonl", &registers)?;
    let surveys = site.pipes.iter().map(|pipe| survey(site.seed, pipe));
    folder.records("field-surveys.jsonl", &surveys.collect::<Vec<_>>())
}

fn register(pipe: &Pipe) -> Row {
    let laterals: Vec<_> = pipe
        .taps
        .iter()
        .map(|tap| name("laterals", &tap.id))
        .collect();
    let entered = pipe.taps.iter().filter(|tap| tap.is_on_entered_lot());
    // The way in leads over one lot more.
    let entered_count = entered.count() + 1;
    let body = json!({
        "segment": name("segments", &pipe.id),
        "lateralCount": laterals.len(),
        "laterals": laterals,
        "enteredParcelCount": entered_count,
        "signedBy": "camera operator, crew A",
        "signedTime": instant(pipe.day(1, 24), 930.0),
    });
    Row {
        id: pipe.id.clone(),
        kind: "lateralRegister",
        observed: None,
        body,
    }
}

fn survey(seed: u64, pipe: &Pipe) -> Row {
    let places = ["UPSTREAM_END", "INSIDE", "DOWNSTREAM_END"];
    let diameters: Vec<_> = places
        .into_iter()
        .zip(pipe.bores_mm)
        .map(|(place, (most, least))| {
            json!({
                "place": format!("DIAMETER_PLACE_{place}"),
                "maxDiameterMm": most,
                "minDiameterMm": least,
            })
        })
        .collect();
    let mut dice = Dice::of(seed, &format!("field survey {}", pipe.id));
    let date = later(pipe.day(1, 13), dice.whole(0, 9));
    let body = json!({
        "segment": name("segments", &pipe.id),
        "surveyTime": instant(date, dice.between(500.0, 900.0)),
        "diameters": diameters,
        "lengthWallToWallM": pipe.surveyed_m,
        "groundwaterAboveCrownM": (pipe.water_m * 7.0).floor() / 10.0,
        "surveyor": "superintendent",
    });
    Row {
        id: pipe.id.clone(),
        kind: "fieldSurvey",
        observed: None,
        body,
    }
}
