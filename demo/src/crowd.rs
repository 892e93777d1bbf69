//! How many of each kind of mistake were caught: held by their point, by a finding that names the
//! records.

use std::{collections::BTreeMap, fs, io, path::Path};

use serde_json::Value;

use crate::check::{held, id, points, read};

/// Of one kind: planted, and held as they must be.
#[derive(Default)]
struct Count {
    point: String,
    planted: usize,
    caught: usize,
}

/// Prints a row for each kind, and a row for each segment that is not as planned; true when there is
/// none of the latter.
pub(crate) fn report(folder: &Path, status: &Path) -> io::Result<bool> {
    let list: Value = serde_json::from_str(&fs::read_to_string(folder.join("mistakes.json"))?)?;
    let rows = list["mistakes"].as_array().cloned().unwrap_or_default();
    let planted: BTreeMap<&str, &Value> =
        rows.iter().map(|row| (text(row, "segment"), row)).collect();
    let statuses = read(status)?;
    let mut kinds: BTreeMap<&str, Count> = BTreeMap::new();
    let mut wrong = Vec::new();
    let mut clean = 0;
    let mut met = 0;
    for status in &statuses {
        let segment = id(&status["segment"]);
        let Some(row) = planted.get(segment) else {
            clean += 1;
            let held = held(status);
            if !held.is_empty() {
                wrong.push(format!("{segment}: clean, and held at {}", held.join(", ")));
            }
            continue;
        };
        met += 1;
        let count = kinds.entry(text(row, "kind")).or_default();
        text(row, "heldBy").clone_into(&mut count.point);
        count.planted += 1;
        match miss(status, row) {
            None => count.caught += 1,
            Some(what) => wrong.push(format!("{segment}: {}: {what}", text(row, "kind"))),
        }
    }
    println!(
        "{:<22} {:<18} {:>7} {:>7}",
        "mistake", "held by", "planted", "caught"
    );
    for (kind, count) in &kinds {
        println!(
            "{kind:<22} {:<18} {:>7} {:>7}",
            count.point, count.planted, count.caught
        );
    }
    let caught: usize = kinds.values().map(|count| count.caught).sum();
    let held = wrong.iter().filter(|row| row.contains(": clean, ")).count();
    println!(
        "{} of {} mistakes of {} kinds caught; {held} of {clean} clean segments held",
        caught,
        rows.len(),
        kinds.len()
    );
    if met < planted.len() {
        wrong.push(format!(
            "{} segments are not in the answer",
            planted.len() - met
        ));
    }
    wrong.iter().for_each(|row| println!("{row}"));
    Ok(wrong.is_empty() && !statuses.is_empty())
}

/// Why a planted mistake does not count as caught.
fn miss(status: &Value, row: &Value) -> Option<String> {
    let (wanted, code) = (text(row, "heldBy"), text(row, "code"));
    if !held(status).contains(&wanted) {
        return Some(format!("{wanted} does not hold it"));
    }
    let point = points(status).find(|point| text(point, "point") == wanted)?;
    let findings = point["findings"].as_array().into_iter().flatten();
    let mut holding = findings.filter(|finding| {
        finding["holds"] == true && (code.is_empty() || text(finding, "code") == code)
    });
    let names = row["names"].as_array().into_iter().flatten();
    let names: Vec<&str> = names.filter_map(Value::as_str).collect();
    if holding.any(|finding| names.iter().all(|name| is_named(finding, name))) {
        return None;
    }
    Some(format!(
        "no finding {code} of {wanted} names {}",
        names.join(" and ")
    ))
}

/// Whether a finding rests on a record, or speaks of it where evidence is missing.
fn is_named(finding: &Value, name: &str) -> bool {
    let records = finding["records"].as_array().into_iter().flatten();
    let id = name.rsplit('/').next().unwrap_or(name);
    let message = text(finding, "message").to_lowercase();
    let mut words = message.split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'));
    records
        .into_iter()
        .any(|record| text(record, "name") == name)
        || words.any(|word| word == id)
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}
