//! The table from design to pipe as an answer: each figure with the record behind it.

use obvert_proto::{
    Problem,
    closeout::v1::{SegmentTrace, TracedFact, TracedFigure},
    common::v1::RecordRef,
    dates::from_unix_ms,
};
use obvert_typeset::segment_sheet::{HeartCell, HeartRow};

use super::{Sources, Terms, build::traced, words};
use crate::load::Loaded;

/// Traces a loaded segment; the figures are those that its package prints.
///
/// # Errors
///
/// A fault of the program: a record that cannot be read back.
pub(crate) fn trace(loaded: Loaded) -> Result<SegmentTrace, Problem> {
    let status = loaded.status();
    let sources = Sources {
        loaded,
        status,
        chain_sha256: [0; 32],
        blobs: Default::default(),
        histories: Vec::new(),
        terms: Terms {
            with_people: true,
            originals_bytes: 0,
        },
        replaced: None,
        logo: None,
        logo_missing: String::new(),
        section_plugins: Vec::new(),
        redactions: Vec::new(),
    };
    let heart = traced(&sources)?;
    let gathered = &sources.loaded.gathered;
    let facts = heart.rows.into_iter();
    Ok(SegmentTrace {
        segment: gathered.segment.clone(),
        revision: gathered.revision,
        facts: facts.map(|row| fact(row, &sources)).collect(),
        statements: heart.statements.into_iter().map(|s| s.text).collect(),
    })
}

fn fact(row: HeartRow, sources: &Sources) -> TracedFact {
    let stages = [
        ("design", row.design),
        ("ordered", row.ordered),
        ("certified", row.certified),
        ("received", row.received),
        ("installed", row.installed),
        ("cure log", row.cure_log),
        ("measured", row.measured),
    ];
    let figures = stages.into_iter();
    TracedFact {
        title: row.title,
        basis: row.basis.unwrap_or_default(),
        figures: figures
            .filter_map(|(stage, cell)| Some(figure(stage, cell?, sources)))
            .collect(),
    }
}

fn figure(stage: &str, cell: HeartCell, sources: &Sources) -> TracedFigure {
    let mut records = sources.loaded.gathered.records.iter();
    let stored = records.find(|s| words::record(&s.name, s.revision) == cell.record);
    TracedFigure {
        stage: stage.to_owned(),
        figure: match cell.figure.us_customary {
            Some(us) => format!("{} ({us})", cell.figure.text),
            None => cell.figure.text,
        },
        basis: cell.figure.basis.unwrap_or_default(),
        record: stored.map(|s| RecordRef {
            name: s.name.clone(),
            revision: s.revision,
        }),
        grade: cell.grade,
        principal: stored.map_or(String::new(), |s| s.caller.principal.clone()),
        commit_time: stored.map(|s| from_unix_ms(s.commit_time_ms)),
        disagrees: cell.disagrees,
    }
}
