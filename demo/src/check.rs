//! Holds what the server says of each segment against the list of planted mistakes, and says which
//! role releases what waits.

use std::{collections::BTreeMap, fs, io, path::Path};

use serde_json::Value;

/// Hold points and who releases them, as the plan of Marrowby has it.
const RELEASED_BY: [(&str, &str); 2] = [
    ("ready-to-line", "inspector"),
    ("final-acceptance", "owner"),
];

/// Prints a row for each segment.
///
/// True when every planted mistake is held by its point and no other segment is held by evidence.
pub(crate) fn check(folder: &Path, status: &Path) -> io::Result<bool> {
    let planted = planted(folder)?;
    let statuses = read(status)?;
    println!(
        "{:<7} {:<18} {:<36} as planned",
        "segment", "mistake held by", "held by evidence at"
    );
    let mut all_well = true;
    let mut met = 0;
    for status in &statuses {
        let segment = id(&status["segment"]);
        let held = held(status);
        let (wanted, well) = match planted.get(segment) {
            Some(point) => {
                met += 1;
                (point.as_str(), held.contains(&point.as_str()))
            }
            None => ("none", held.is_empty()),
        };
        all_well &= well;
        let held = if held.is_empty() {
            "none".to_owned()
        } else {
            held.join(", ")
        };
        println!(
            "{segment:<7} {wanted:<18} {held:<36} {}",
            if well { "yes" } else { "NO" }
        );
    }
    let missing = planted.len() - met;
    if missing > 0 {
        println!("{missing} segments with a planted mistake are not in the answer");
    }
    Ok(all_well && missing == 0 && !statuses.is_empty())
}

/// Prints segment, point and role of everything that waits for a release: on one segment, or on all
/// without a planted mistake.
pub(crate) fn releases(folder: &Path, status: &Path, only: Option<&str>) -> io::Result<()> {
    let planted = planted(folder)?;
    for status in read(status)? {
        let segment = id(&status["segment"]);
        if only.map_or_else(|| planted.contains_key(segment), |only| only != segment) {
            continue;
        }
        for point in points(&status).filter(|p| p["state"] == "POINT_STATE_AWAITS_RELEASE") {
            let point = point["point"].as_str().unwrap_or_default();
            let role = RELEASED_BY.iter().find(|(known, _)| *known == point);
            println!(
                "{segment}\t{point}\t{}",
                role.map_or("owner", |(_, role)| role)
            );
        }
    }
    Ok(())
}

/// Prints the segments without a planted mistake.
pub(crate) fn clean(folder: &Path, status: &Path) -> io::Result<()> {
    let planted = planted(folder)?;
    let statuses = read(status)?;
    let segments = statuses.iter().map(|status| id(&status["segment"]));
    segments
        .filter(|segment| !planted.contains_key(*segment))
        .for_each(|id| println!("{id}"));
    Ok(())
}

/// Segments and the points that must hold them.
fn planted(folder: &Path) -> io::Result<BTreeMap<String, String>> {
    let list: Value = serde_json::from_str(&fs::read_to_string(folder.join("mistakes.json"))?)?;
    let rows = list["mistakes"].as_array().cloned().unwrap_or_default();
    let text = |row: &Value, key: &str| row[key].as_str().unwrap_or_default().to_owned();
    Ok(rows
        .iter()
        .map(|row| (text(row, "segment"), text(row, "heldBy")))
        .collect())
}

pub(crate) fn read(status: &Path) -> io::Result<Vec<Value>> {
    Ok(serde_json::from_str(&fs::read_to_string(status)?)?)
}

pub(crate) fn points(status: &Value) -> impl Iterator<Item = &Value> {
    status["points"].as_array().into_iter().flatten()
}

/// Points that their own evidence holds; those that only wait for others are left out.
pub(crate) fn held(status: &Value) -> Vec<&str> {
    let by_evidence =
        |point: &&Value| point["state"] == "POINT_STATE_HELD" && point["verdict"] == "VERDICT_HELD";
    let held = points(status).filter(by_evidence);
    held.filter_map(|point| point["point"].as_str()).collect()
}

pub(crate) fn id(name: &Value) -> &str {
    name.as_str()
        .and_then(|name| name.rsplit('/').next())
        .unwrap_or_default()
}
