//! An invented segment with every section filled: Marrowby, Quillfern Lane rear easements.

use std::collections::BTreeMap;

use obvert_typeset::segment_sheet::{Cover, Figure, Logo, Mark, SegmentSheet, State};

use super::{sample_cure_log, sample_evidence, sample_heart, sample_points, sample_site};

/// The whole invented sheet. All values are made up; none comes from a real sewer.
pub(crate) fn sample_sheet() -> SegmentSheet {
    SegmentSheet {
        owner_cover: None,
        cover: cover(),
        heart: sample_heart::heart(),
        points: sample_points::points(),
        plan_states: sample_points::plan_states(),
        designs: vec![sample_points::design()],
        cure_logs: vec![sample_cure_log::cure_log()],
        laboratory_reports: vec![sample_site::laboratory_report()],
        papers: sample_evidence::papers(),
        leak_tests: vec![sample_site::leak_test()],
        laterals: sample_site::laterals(),
        samples: sample_site::samples(),
        nonconformances: sample_site::nonconformances(),
        plugin_sections: sample_evidence::plugin_sections(),
        changes: sample_evidence::changes(),
        corrections: sample_evidence::corrections(),
        evidence: sample_evidence::evidence(),
        left_out: Vec::new(),
        cautions: sample_evidence::cautions(),
        verification: sample_evidence::verification(),
    }
}

/// The plots and the logo that the sheet names.
pub(crate) fn sample_files() -> BTreeMap<String, Vec<u8>> {
    let logo = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 40"><circle cx="20"
 cy="20" r="15" fill="none" stroke="#26323a" stroke-width="4"/><path d="M8 26 Q20 32 32 26"
 stroke="#26323a" stroke-width="3" fill="none"/><path d="M50 12 h60 M50 20 h60 M50 28 h40"
 stroke="#26323a" stroke-width="3"/></svg>"##;
    let mut files = sample_cure_log::plots();
    files.insert("owner/logo.svg".into(), logo.as_bytes().to_vec());
    files
}

pub(crate) fn state(word: &str, mark: Mark) -> State {
    State {
        word: word.into(),
        mark,
    }
}

pub(crate) fn figure(text: &str, us_customary: &str, basis: &str) -> Figure {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    Figure {
        text: text.into(),
        us_customary: some(us_customary),
        basis: some(basis),
    }
}

fn cover() -> Cover {
    Cover {
        project_title: "Quillfern Lane rear easements".into(),
        contract: "MSD-2026-07".into(),
        owner: "Marrowby Sanitary District".into(),
        owner_lines: vec!["Office of Sewers, Marrowby".into()],
        contractor: "Copperbeck Utilities".into(),
        segment_id: "s-014".into(),
        owner_segment_id: "MSD-PIPE-0007713-A".into(),
        upstream_manhole: "MQ-114".into(),
        downstream_manhole: "MQ-115".into(),
        location: "Rear easement behind Quillfern Lane 40 to 62".into(),
        diameter: figure(
            "200 mm",
            "8 in",
            "nominal; measured 198 mm to 203 mm at six stations",
        ),
        lengths: vec![
            figure("91.44 m", "300.0 ft", "wall to wall"),
            figure("92.66 m", "304.0 ft", "centre to centre"),
        ],
        package_revision: "3".into(),
        project_revision: "187".into(),
        plan_revision: "plans/marrowby-2026@12".into(),
        plan_filed: "revision C, filed by person/office (office), 2026-03-02 09:10".into(),
        revision_time: "2026-06-18 16:42 America/New_York".into(),
        status: state("Held at 1 of 6 points", Mark::Open),
        status_lines: vec![
            state(
                "4 points released by signature, 1 of them with a variance",
                Mark::Varied,
            ),
            state(
                "1 point not applicable, with its reason",
                Mark::NotApplicable,
            ),
            state("2 nonconformances, 1 open", Mark::Open),
            state("11 pieces of evidence asked for, 1 missing", Mark::Open),
        ],
        signer_note: "Signed with the key 3f6c 91d2 7a0e 55b8 41c9 0e77 d25a 8814 of the \
                      contractor's office. The owner has this fingerprint by letter of \
                      2026-03-02."
            .into(),
        notes: vec![
            "Lengths for payment are wall to wall.".into(),
            "SI figures are the record; US customary figures are rounded from them.".into(),
        ],
        logo: Some(Logo {
            file: "owner/logo.svg".into(),
            alt: "Mark of the Marrowby Sanitary District: a ring with a water line".into(),
        }),
    }
}
