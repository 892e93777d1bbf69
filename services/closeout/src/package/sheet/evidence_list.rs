//! The list of evidence, a row each: present, missing, held, awaiting a release, waived,
//! not applicable or not asked.

use obvert_proto::closeout::v1::{EvidenceRow, EvidenceState};
use obvert_typeset::segment_sheet::{Evidence, Mark, Register};

use super::{View, register};
use crate::package::words::{counted, state};

/// The list before the pieces of evidence that are on file or missing.
pub(super) fn before(view: &View<'_>, words: String, pieces: Vec<Evidence>) -> Register<Evidence> {
    let listed = view.status.evidence.iter().map(row);
    let words = format!(
        "First the {} of the list of evidence, then the records and files. {words}",
        counted(listed.len(), "row", "rows")
    );
    register(words, listed.chain(pieces).collect())
}

fn row(row: &EvidenceRow) -> Evidence {
    let mark = match row.state() {
        EvidenceState::Present => Mark::Met,
        EvidenceState::Missing
        | EvidenceState::Held
        | EvidenceState::AwaitsRelease
        | EvidenceState::Unspecified => Mark::Open,
        EvidenceState::Waived => Mark::Varied,
        EvidenceState::NotApplicable | EvidenceState::NotAsked => Mark::NotApplicable,
    };
    let points = match row.points.as_slice() {
        [] => String::new(),
        [point] => format!("Point {point}. "),
        points => format!("Points {}. ", points.join(", ")),
    };
    let by = match row.waived_by.as_str() {
        "" => String::new(),
        by => format!("{by}: "),
    };
    let reason = format!("{points}{by}{}", row.reason);
    Evidence {
        title: format!("{} {}", row.row, row.title),
        state: state(row.state().word(), mark),
        state_reason: Some(reason.trim_end().to_owned()).filter(|reason| !reason.is_empty()),
        ..Evidence::default()
    }
}
