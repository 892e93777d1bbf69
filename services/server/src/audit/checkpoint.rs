//! Checkpoints: revisions with the hash of their commit, kept where nobody can reach both.

use std::{
    fs::File,
    io::{Read, Seek},
    path::Path,
};

use obvert_ledger::{hex, tools::Known, unhex};
use serde::{Deserialize, Serialize};
use zip::ZipArchive;

use super::{Chains, require_store, unread};
use crate::{Ended, tools::say};

/// Largest checkpoint, and largest list of labels of a package.
const MOST_BYTES: u64 = 1 << 20;
/// Entries of a package that are looked at.
const MOST_ENTRIES: usize = 1_000;
/// First bytes of a package.
const PACKAGE: &[u8; 4] = b"PK\x03\x04";

/// One row of a checkpoint file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    project: String,
    revision: i64,
    sha256: String,
}

/// Prints the head of each project and of the access log, a JSON object a row.
pub(super) fn print(folder: &Path) -> Result<(), Ended> {
    require_store(folder)?;
    let Chains { journal, log } = Chains::read(folder, &[])?.or_failure()?;
    let heads = journal.heads.iter().chain(log.heads.iter());
    for (project, head) in heads {
        let row = Row {
            project: project.clone(),
            revision: head.revision,
            sha256: hex(&head.hash),
        };
        say(&serde_json::to_string(&row).unwrap_or_default())?;
    }
    Ok(())
}

/// Reads a file of heads or an issued package. A package proves nothing by itself: `obvert package
/// verify` says who signed it.
pub(super) fn read(path: &Path) -> Result<Vec<Known>, Ended> {
    let failed = |error: std::io::Error| unread(path, error);
    let mut file = File::open(path).map_err(failed)?;
    let mut first = Vec::new();
    (&mut file)
        .take(4)
        .read_to_end(&mut first)
        .map_err(failed)?;
    file.rewind().map_err(failed)?;
    let known = if first == PACKAGE {
        of_package(file).map(|known| vec![known])
    } else {
        let mut text = String::new();
        file.take(MOST_BYTES)
            .read_to_string(&mut text)
            .map_err(failed)?;
        of_rows(&text)
    };
    known.map_err(|what| unread(path, what))
}

fn of_rows(text: &str) -> Result<Vec<Known>, String> {
    let mut known = Vec::new();
    for (row, text) in (1..).zip(text.lines()).filter(|(_, text)| !text.is_empty()) {
        let wrong = |what: String| format!("row {row} is no row of a checkpoint: {what}");
        let read: Row = serde_json::from_str(text).map_err(|error| wrong(error.to_string()))?;
        let sha256 = unhex(&read.sha256)
            .ok_or_else(|| wrong("sha256 must be 64 hexadecimal digits".to_owned()))?;
        known.push(Known {
            project: read.project,
            revision: read.revision,
            sha256,
        });
    }
    if known.is_empty() {
        return Err(
            "it names no commit: make one with 'obvertd audit checkpoint', or name an issued package"
                .to_owned(),
        );
    }
    Ok(known)
}

fn of_package(file: File) -> Result<Known, String> {
    let mut archive = ZipArchive::new(file).map_err(|error| format!("no package: {error}"))?;
    let labels = |name: &str| {
        name.split_once('/')
            .is_some_and(|(_, path)| path == "bag-info.txt")
    };
    let place = (0..archive.len().min(MOST_ENTRIES)).find(|place| {
        let entry = archive.by_index_raw(*place).ok();
        entry.is_some_and(|entry| entry.name().is_ok_and(|name| labels(&name)))
    });
    let place = place.ok_or("no package: it has no bag-info.txt")?;
    let entry = archive.by_index(place).map_err(|error| error.to_string())?;
    let mut text = String::new();
    let read = entry.take(MOST_BYTES).read_to_string(&mut text);
    read.map_err(|error| format!("its bag-info.txt: {error}"))?;
    let value = |label: &str| {
        text.lines()
            .filter_map(|row| row.split_once(": "))
            .find(|(found, _)| *found == label)
            .map(|(_, value)| value)
            .ok_or(format!(
                "its bag-info.txt has no {label}: packages carry it since 0.1.0"
            ))
    };
    let project = value("Obvert-Segment")?
        .split('/')
        .nth(1)
        .unwrap_or_default();
    let revision = value("Obvert-Revision")?.parse();
    Ok(Known {
        project: project.to_owned(),
        revision: revision.map_err(|_| "its Obvert-Revision is no number")?,
        sha256: unhex(value("Obvert-Chain-SHA256")?)
            .ok_or("its Obvert-Chain-SHA256 is no SHA-256")?,
    })
}
