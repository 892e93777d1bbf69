//! Processor time of the servers, which are children of this process.

use std::fs;

/// Ticks of a second in `/proc`, as on every Linux that Rust runs on.
const TICKS_PER_SECOND: f64 = 100.0;

/// Seconds of processor time that children with a name that begins so have taken, and theirs.
pub(crate) fn seconds(name: &str) -> f64 {
    let mut parents = vec![std::process::id().to_string()];
    let mut sum = 0.0;
    while let Some(parent) = parents.pop() {
        sum += of_parent(name, &parent, &mut parents);
    }
    sum
}

fn of_parent(name: &str, own: &str, found_children: &mut Vec<String>) -> f64 {
    let processes = fs::read_dir("/proc").into_iter().flatten().flatten();
    let ticks = processes.filter_map(|process| {
        let stat = fs::read_to_string(process.path().join("stat")).ok()?;
        // `pid (name) state parent ...`; user and system time are the 14th and 15th fields.
        let (before, after) = stat.rsplit_once(") ")?;
        let fields: Vec<&str> = after.split(' ').collect();
        let (_, found) = before.split_once('(')?;
        if fields.get(1) != Some(&own) || !found.starts_with(name) {
            return None;
        }
        found_children.push(process.file_name().to_string_lossy().into_owned());
        let (user, system): (f64, f64) = (fields[11].parse().ok()?, fields[12].parse().ok()?);
        Some(user + system)
    });
    ticks.sum::<f64>() / TICKS_PER_SECOND
}
