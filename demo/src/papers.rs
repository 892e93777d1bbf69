//! Papers of which only presence, signature and validity count.

use std::io;

use serde_json::{Value, json};

use crate::{
    folder::{Folder, PROJECT, Row, name},
    mistake::Mistake,
    site::{Pipe, Site, Tap, TapState},
    when::{day, local_date},
};

/// One kind of paper.
struct Kind {
    evidence_kind: &'static str,
    title: &'static str,
    issuer: &'static str,
    signed_by: &'static str,
}

const OWNER: &str = "Marrowby Sanitary District";
const CONTRACTOR: &str = "Copperbeck Utilities";

/// Papers about the whole project.
const OF_PROJECT: [Kind; 5] = [
    Kind {
        evidence_kind: "qualification-pack",
        title: "Licences and references of the crews",
        issuer: CONTRACTOR,
        signed_by: "project manager",
    },
    Kind {
        evidence_kind: "quality-plan",
        title: "Quality plan with target values",
        issuer: CONTRACTOR,
        signed_by: "project manager",
    },
    Kind {
        evidence_kind: "material-file",
        title: "Tube, resin, films and long-term tests",
        issuer: "Harrowmere Liners (invented)",
        signed_by: "maker's quality manager",
    },
    Kind {
        evidence_kind: "laboratory-accreditation",
        title: "Accreditation with list of methods",
        issuer: "Fernmoss Materials Laboratory",
        signed_by: "laboratory manager",
    },
    Kind {
        evidence_kind: "calibration-set",
        title: "Calibrations of gauges, sensors and counters",
        issuer: CONTRACTOR,
        signed_by: "superintendent",
    },
];

/// Writes the papers that the office files.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let mut rows: Vec<_> = OF_PROJECT.iter().map(of_project).collect();
    for pipe in &site.pipes {
        rows.extend(pipe.taps.iter().filter_map(|tap| word_of_owner(pipe, tap)));
    }
    folder.records("papers.jsonl", &rows)
}

/// Ids of all papers, with their titles.
pub(crate) fn ids(site: &Site) -> Vec<(String, String)> {
    let mut ids = Vec::new();
    let mut add = |row: &Row| {
        let title = row.body["title"].as_str().unwrap_or_default().to_owned();
        ids.push((row.id.clone(), title));
    };
    OF_PROJECT.iter().for_each(|kind| add(&of_project(kind)));
    for pipe in &site.pipes {
        pipe.taps
            .iter()
            .filter_map(|tap| word_of_owner(pipe, tap))
            .for_each(|row| add(&row));
    }
    ids
}

fn of_project(kind: &Kind) -> Row {
    let subjects = json!([format!("projects/{PROJECT}")]);
    paper(
        kind.evidence_kind.to_owned(),
        kind,
        (kind.title.to_owned(), subjects),
    )
}

/// What the owner of a lateral, or the sewer's owner for it, has given in writing.
fn word_of_owner(pipe: &Pipe, tap: &Tap) -> Option<Row> {
    let (evidence_kind, title) = match tap.state {
        TapState::Live => return None,
        TapState::Dead if pipe.has(Mistake::ClosedLateral) => return None,
        TapState::Dead => (
            "lateral-direction",
            "Direction to leave a dead lateral closed",
        ),
        TapState::GivenUp => ("lateral-abandonment", "Lateral given up by its owner"),
        TapState::Unknown => (
            "unknown-lateral-direction",
            "Direction to open an unproven lateral",
        ),
    };
    let signed_by = "owner's engineer";
    let kind = Kind {
        evidence_kind,
        title,
        issuer: OWNER,
        signed_by,
    };
    let subjects = json!([name("laterals", &tap.id)]);
    let title = format!("{title}, {} {}", pipe.owner_id, tap.number);
    Some(paper(format!("word-{}", tap.id), &kind, (title, subjects)))
}

fn paper(id: String, kind: &Kind, (title, subjects): (String, Value)) -> Row {
    let body = json!({
        "evidenceKind": kind.evidence_kind,
        "subjects": subjects,
        "attachments": [name("attachments", &format!("paper-{id}"))],
        "title": title,
        "issuer": kind.issuer,
        "signedBy": kind.signed_by,
        "signedDate": local_date(day(3, 31)),
        "validFromDate": local_date(day(1, 2)),
    });
    Row {
        id,
        kind: "document",
        observed: None,
        body,
    }
}
