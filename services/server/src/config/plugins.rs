//! `[[plugin]]`: programs of others that the server asks, each with its address and its limits.

use std::{
    path::{Path, PathBuf},
    time::Duration,
};

use obvert_plugins::{ANSWER_BYTES, Address, Kind, REQUEST_BYTES, Registration};
use obvert_tables::{
    did_you_mean,
    toml_text::{Faults, Reader, listed},
};

/// Plug-ins of a config; none when it names none.
pub(super) fn read(root: &mut Reader<'_>, faults: &mut Faults<'_>) -> Vec<Registration> {
    if !root.has("plugin") {
        return Vec::new();
    }
    let mut read: Vec<Registration> = Vec::new();
    for mut table in root.tables("plugin", faults) {
        let plugin = read_one(&mut table, faults);
        if !plugin.id.is_empty() && read.iter().any(|other| other.id == plugin.id) {
            let message = format!("plugin {} stands twice: give one another id", plugin.id);
            faults.add(table.place_of("id"), message);
        }
        table.finish(faults);
        read.push(plugin);
    }
    read
}

/// One plug-in; what is at fault has a value that is never used.
fn read_one(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Registration {
    let id = table.text("id", faults);
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let is_id = id.starts_with(|c: char| c.is_ascii_lowercase()) && id.chars().all(plain);
    if !id.is_empty() && (!is_id || id.len() > 63 || id.ends_with('-')) {
        let message = format!(
            "id is \"{id}\": write lower-case letters, digits and hyphens, such as \"working-hours\""
        );
        faults.add(table.place_of("id"), message);
    }
    let kinds = kinds(table, faults);
    let ca_file = table.has("ca_file").then(|| table.text("ca_file", faults));
    let ca_file = ca_file.map(PathBuf::from);
    let address = address(table, ca_file.as_deref(), faults);
    let deadline_s = table.whole_or("deadline_s", 10, 1..=600, faults);
    let request_bytes = table.whole_or(
        "request_bytes",
        REQUEST_BYTES as u64,
        65_536..=67_108_864,
        faults,
    );
    let answer_bytes = table.whole_or(
        "answer_bytes",
        ANSWER_BYTES as u64,
        4_096..=67_108_864,
        faults,
    );
    let calls = table.whole_or("calls", 2, 1..=64, faults);
    let projects = table.words("projects", faults);
    Registration {
        id,
        kinds,
        address,
        ca_file,
        deadline: Duration::from_secs(deadline_s),
        request_bytes: request_bytes as usize,
        answer_bytes: answer_bytes as usize,
        calls: calls as usize,
        projects: projects.into_iter().map(|(project, _)| project).collect(),
    }
}

fn kinds(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Vec<Kind> {
    let words = table.words("kinds", faults);
    let known = || Kind::ALL.iter().map(|(_, word, _)| *word);
    if words.is_empty() {
        let message = format!(
            "kinds says nothing: list one or more of {}",
            listed(known())
        );
        faults.add(table.place_of("kinds"), message);
    }
    let mut kinds = Vec::new();
    for (word, place) in words {
        match Kind::ALL.iter().find(|(_, known, _)| *known == word) {
            Some((kind, ..)) => kinds.push(*kind),
            None => {
                let near = did_you_mean(&word, known());
                let message = format!("kinds has \"{word}\": one of {}{near}", listed(known()));
                faults.add(place, message);
            }
        }
    }
    kinds
}

fn address(table: &mut Reader<'_>, ca_file: Option<&Path>, faults: &mut Faults<'_>) -> Address {
    let text = table.text("address", faults);
    let off_loopback = table.flag("plain_text_off_loopback", faults);
    let place = table.place_of("address");
    match Address::parse(&text) {
        Ok(address) if address.is_private() || off_loopback => match address.endpoint(ca_file) {
            Ok(_) => return address,
            Err(what) => faults.add(place, format!("address: {what}")),
        },
        Ok(address) => {
            let message = format!(
                "address is {address}, which is not this machine, and records would go there as \
                 plain text: use https:// with a ca_file, a unix socket or loopback, or set \
                 plain_text_off_loopback = true where the network is your own"
            );
            faults.add(place, message);
        }
        Err(what) if !text.is_empty() => faults.add(place, format!("address is {what}")),
        Err(_) => {}
    }
    Address::Unix("/dev/null".into())
}
