//! Papers that were typed from an original: who typed each, and who compared it.

use obvert_proto::closeout::v1::EvidenceUsed;
use obvert_records::{names, paper::Comparison};
use obvert_typeset::segment_sheet::{Paper, Register};

use super::{View, register};
use crate::{
    package::words::{self, counted},
    segment_file::{Kept, by_name},
};

/// Grade of a paper with who stands behind it.
pub(super) fn grade(view: &View<'_>, name: &str) -> String {
    let grade = words::grade(view.file.grade(name));
    match view.file.standings.get(name).and_then(|s| s.by.as_ref()) {
        Some(by) => format!("{grade}: {}", compared(view, by)),
        None => grade.to_owned(),
    }
}

/// Every paper that a point rests on.
pub(super) fn papers(view: &View<'_>) -> Register<Paper> {
    let used = view.status.points.iter().flat_map(|point| &point.evidence);
    let is_used = |name: &str| {
        let mut used = used.clone();
        used.any(|e: &EvidenceUsed| e.record.as_ref().is_some_and(|r| r.name == name))
    };
    let names = view.file.standings.keys();
    let (others, own): (Vec<_>, Vec<_>) = names
        .filter(|name| is_used(name))
        .partition(|name| by_name(&view.file.other_reports, name).is_some());
    let rows: Vec<_> = own.iter().filter_map(|name| row(view, name)).collect();
    let mut words = format!(
        "{} behind the points",
        counted(rows.len(), "paper", "papers")
    );
    if !others.is_empty() {
        let others = counted(others.len(), "report", "reports");
        words.push_str(&format!(
            ", besides {others} on other segments of the same batches, which the evidence index \
             lists"
        ));
    }
    register(words + ".", rows)
}

fn row(view: &View<'_>, name: &str) -> Option<Paper> {
    let file = view.file;
    let filed = by_name(&file.reports, name)
        .map(|kept| filed(view, kept))
        .or_else(|| by_name(&file.certificates, name).map(|kept| filed(view, kept)))
        .or_else(|| by_name(&file.receiving_checks, name).map(|kept| filed(view, kept)))
        .or_else(|| by_name(&file.documents, name).map(|kept| filed(view, kept)))?;
    let standing = file.standings.get(name)?;
    let (record, filed_by) = filed;
    let originals = standing.originals.iter();
    let differs = standing.differences.iter().map(|difference| {
        let remark = &difference.check.remark;
        format!("differs: {}: {remark}", compared(view, difference))
    });
    let compared = standing.by.as_ref().map(|by| compared(view, by));
    Some(Paper {
        record,
        grade: words::grade(standing.grade).to_owned(),
        filed_by,
        compared_by: compared.into_iter().chain(differs).collect(),
        originals: originals
            .map(|name| names::id_of(name).to_owned())
            .collect(),
    })
}

fn filed<M>(view: &View<'_>, kept: &Kept<M>) -> (String, String) {
    let time = view.file.local_time(kept.commit_time_ms);
    let by = format!("{}, {}, {time}", kept.principal, kept.role);
    (view.record(kept), by)
}

fn compared(view: &View<'_>, by: &Comparison) -> String {
    let time = view.file.local_time(by.commit_time_ms);
    format!("{}, {}, {time}", by.principal, by.role)
}
