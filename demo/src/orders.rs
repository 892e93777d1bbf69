//! Fills into orders the revision of each design that the server gave it.

use std::{collections::HashMap, fs, io, path::Path};

use serde_json::Value;

/// Reads `{name}.draft.jsonl`, and the server's list of designs in JSON; writes `{name}.jsonl`.
pub(crate) fn fill(folder: &Path, designs: &Path) -> io::Result<()> {
    let listed: Vec<Value> = serde_json::from_str(&fs::read_to_string(designs)?)?;
    let revisions: HashMap<&str, &Value> = listed
        .iter()
        .filter_map(|record| {
            let meta = &record["meta"];
            Some((meta["name"].as_str()?, &meta["revision"]))
        })
        .collect();
    for name in ["orders", "orders-again"] {
        let draft = fs::read_to_string(folder.join(format!("{name}.draft.jsonl")))?;
        let mut rows = String::new();
        for line in draft.lines() {
            let mut row: Value = serde_json::from_str(line)?;
            let segments = row["linerOrder"]["segments"].as_array_mut();
            for segment in segments.into_iter().flatten() {
                let design = segment["design"].as_str().unwrap_or_default().to_owned();
                let Some(revision) = revisions.get(design.as_str()) else {
                    continue;
                };
                segment["designRevision"] = (*revision).clone();
            }
            rows += &row.to_string();
            rows.push('\n');
        }
        fs::write(folder.join(format!("{name}.jsonl")), rows)?;
    }
    Ok(())
}
