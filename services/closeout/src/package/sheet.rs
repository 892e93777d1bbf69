//! The data of `closeout.pdf`: records turned into words and rounded figures, section by section.

mod chain;
mod changes;
mod cover;
mod cure_log;
mod design;
mod evidence;
mod evidence_list;
mod field_values;
mod heart;
mod laboratory;
mod owner_cover;
mod papers;
mod plan_states;
mod plugin_sections;
mod points;
mod site;
mod statements;
mod verification;

use std::collections::BTreeMap;

use obvert_proto::{closeout::v1::SegmentStatus, dates::unix_ms};
use obvert_typeset::segment_sheet::{Register, SegmentSheet};

use super::{
    Logo, Redaction, Terms, asked_sections::AskedSection, corrections::Change, cure::DrawnLog,
    figures::Units, originals::Original, since::Since, words,
};
use crate::{
    plan::PlanText,
    segment_file::{Kept, SegmentFile},
};

/// Everything the document is written from.
pub(super) struct View<'a> {
    pub(super) file: &'a SegmentFile,
    pub(super) plan: &'a PlanText,
    pub(super) status: &'a SegmentStatus,
    pub(super) units: Units,
    /// Payload so far, by path.
    pub(super) files: &'a BTreeMap<String, Vec<u8>>,
    pub(super) logs: &'a [DrawnLog],
    pub(super) originals: &'a [Original],
    pub(super) changes: &'a [Change],
    /// What differs from the package before; none for the first.
    pub(super) since: Option<&'a Since>,
    pub(super) redactions: &'a [Redaction],
    /// Sections of plug-ins that were asked for or are on file.
    pub(super) sections: Vec<AskedSection<'a>>,
    pub(super) terms: Terms,
    pub(super) logo: Option<&'a Logo>,
    /// Why the logo that the plan names is not printed; empty when it is, or when it names none.
    pub(super) logo_missing: &'a str,
    /// Fingerprint of the signer, and where else the owner finds it; empty when nothing is signed.
    pub(super) signer: [&'a str; 2],
}

impl View<'_> {
    /// Owner's identifier of the segment, or its id.
    pub(super) fn owner_segment_id(&self) -> &str {
        self.file
            .segment()
            .map_or(self.file.segment_id(), |segment| &segment.owner_segment_id)
    }

    /// Time on site, or `otherwise`.
    fn time(&self, time: Option<&prost_types::Timestamp>, otherwise: &str) -> String {
        time.map_or(otherwise.to_owned(), |time| {
            self.file.local_time(unix_ms(time))
        })
    }

    /// Name and revision of a record, as the document writes them.
    fn record<M>(&self, kept: &Kept<M>) -> String {
        words::record(&kept.name, kept.revision)
    }
}

pub(super) use heart::heart;

/// The whole document.
pub(super) fn sheet(view: &View<'_>) -> SegmentSheet {
    SegmentSheet {
        owner_cover: owner_cover::owner_cover(view),
        cover: cover::cover(view),
        heart: heart(view),
        points: points::points(view),
        plan_states: plan_states::plan_states(view),
        designs: design::designs(view),
        cure_logs: cure_log::cure_logs(view),
        laboratory_reports: laboratory::reports(view),
        papers: papers::papers(view),
        leak_tests: site::leak_tests(view),
        laterals: site::laterals(view),
        samples: site::samples(view),
        nonconformances: site::nonconformances(view),
        plugin_sections: plugin_sections::plugin_sections(view),
        changes: changes::changes(view),
        corrections: evidence::corrections(view),
        evidence: evidence::evidence(view),
        left_out: view
            .plan
            .package
            .left_out
            .iter()
            .map(ToString::to_string)
            .collect(),
        cautions: verification::cautions(),
        verification: verification::verification(view),
    }
}

/// A list with the sentence that counts it.
fn register<T>(count_in_words: String, rows: Vec<T>) -> Register<T> {
    Register {
        count_in_words,
        rows,
    }
}
