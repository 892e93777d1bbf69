//! Points of the plan with who released them.

use obvert_proto::{
    closeout::v1::{PointState, PointStatus, ReleaseKind},
    dates::unix_ms,
};
use obvert_typeset::segment_sheet::{Mark, Point, Register, Release, State, Variance};

use super::{View, register};
use crate::{
    package::words::{self, counted, state},
    segment_file::{Kept, by_name},
};

pub(super) fn points(view: &View<'_>) -> Register<Point> {
    let points = &view.status.points;
    let rows = points.iter().map(|status| point(view, status)).collect();
    let number = counted(points.len(), "point", "points");
    register(
        format!(
            "The plan has {number} for this segment; {}.",
            words::standing(view.status)
        ),
        rows,
    )
}

fn point(view: &View<'_>, status: &PointStatus) -> Point {
    let release = by_name(&view.file.releases, &status.release);
    let mut findings: Vec<_> = status
        .findings
        .iter()
        .map(|f| sentence(&f.message))
        .collect();
    if status.state() == PointState::NotApplicable {
        findings.insert(0, sentence(&status.reason));
    }
    Point {
        id: status.point.clone(),
        title: status.title.clone(),
        stage: status.stage.clone(),
        class: status.point_class().word().to_owned(),
        state: standing(status, release),
        release: release.map(|release| Release {
            name: release.principal.clone(),
            role: release.role.clone(),
            time: view.file.local_time(release.commit_time_ms),
        }),
        evidence: status
            .evidence
            .iter()
            .map(|used| words::reference(used.record.as_ref()))
            .collect(),
        source_clause: status.source_clause.clone(),
        findings,
        variance: variance(view, status, release),
    }
}

fn standing(
    status: &PointStatus,
    release: Option<&Kept<obvert_proto::closeout::v1::Release>>,
) -> State {
    let lapsed = release.is_some_and(|release| release.release_kind() == ReleaseKind::Lapse);
    match status.state() {
        PointState::Released if lapsed => state("lapsed after notice", Mark::Met),
        PointState::Released if release.is_none() => state("released by its evidence", Mark::Met),
        PointState::Released => state("released", Mark::Met),
        PointState::Variance => state("passed with a variance", Mark::Varied),
        PointState::NotApplicable => state("not applicable", Mark::NotApplicable),
        PointState::AwaitsRelease => state("awaits release", Mark::Open),
        PointState::Held | PointState::Unspecified => state("held", Mark::Open),
    }
}

fn variance(
    view: &View<'_>,
    status: &PointStatus,
    release: Option<&Kept<obvert_proto::closeout::v1::Release>>,
) -> Option<Variance> {
    let release = release.filter(|_| status.state() == PointState::Variance)?;
    let departs = status.findings.iter().filter(|finding| finding.holds);
    let time = status
        .release_time
        .as_ref()
        .map_or(release.commit_time_ms, unix_ms);
    let until = release.valid_until_date.as_ref();
    let until = until.map_or(String::new(), |_| {
        format!(" Holds until {}.", words::date(until, ""))
    });
    Some(Variance {
        departs_from: departs
            .map(|f| sentence(&f.message))
            .collect::<Vec<_>>()
            .join(" "),
        reason: format!("{}{until}", sentence(&status.reason)),
        granted_by: format!("{}, {}", release.principal, release.role),
        time: view.file.local_time(time),
        record: view.record(release),
    })
}

/// A finding as a sentence: capital first, full stop last.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.trim().chars();
    let Some(first) = letters.next() else {
        return String::new();
    };
    let stop = if text.trim_end().ends_with(['.', '!', '?']) {
        ""
    } else {
        "."
    };
    // A record's own id at the start keeps its small letters.
    let word: String = text.chars().take_while(|c| !c.is_whitespace()).collect();
    if word.contains(['-', '_', '/', '@']) {
        return format!("{}{stop}", text.trim());
    }
    format!("{}{}{stop}", first.to_uppercase(), letters.as_str())
}
