//! When a witness point lapses: the role was told in time, and did not come.

use obvert_proto::{
    Problem,
    closeout::v1::{PointClass, PointStatus, Verdict},
    common::v1::{Reason, RecordRef},
};

use crate::{
    Loaded,
    plan::{Operator, Point},
    rules::point_held,
};

/// The paper that proves the notice, once the notice is old enough.
///
/// # Errors
///
/// `ACT_REFUSED` for a point that is no witness point or without notice in time; `POINTS_HELD`
/// while the evidence itself holds.
pub(super) fn proof(
    loaded: &Loaded,
    point: &Point,
    status: &PointStatus,
    now_ms: i64,
) -> Result<RecordRef, Problem> {
    let refused =
        |message: String| Problem::new(Reason::ActRefused, message).fact("point", &point.id);
    if point.class != PointClass::Witness {
        return Err(refused(format!(
            "point {} is no witness point and never lapses: release it",
            point.id
        )));
    }
    if status.verdict() != Verdict::Released || status.findings.iter().any(|finding| finding.holds)
    {
        return Err(point_held(status));
    }
    let kind = format!("witness-notice-{}", point.id);
    let file = &loaded.file;
    let about = |paper: &&crate::segment_file::Kept<obvert_proto::project::v1::Document>| {
        paper.evidence_kind == kind
            && paper.subjects.contains(&file.name)
            && !paper.signed_by.is_empty()
    };
    let told = file.documents.iter().filter(about).filter_map(|paper| {
        // The day of the notice counts from its end, since the paper gives no hour.
        let day = paper.signed_date.as_ref()?.to_civil()?.tomorrow().ok()?;
        let from = day
            .to_zoned_datetime(file.zone.clone())
            .ok()?
            .timestamp()
            .as_millisecond();
        Some((from, paper))
    });
    let Some((from, paper)) = told.min_by_key(|(from, _)| *from) else {
        let message = format!(
            "no signed document of the kind {kind} about {} is on file: file the notice to the \
             witness",
            file.segment_number()
        );
        return Err(refused(message));
    };
    let limit = loaded.plan.limit("witness_notice_h", Operator::AtLeast);
    let hours = (now_ms - from) as f64 / 3_600_000.0;
    if limit.is_some_and(|limit| limit.takes(hours)) {
        return Ok(paper.record());
    }
    let words = limit.map_or("not set".to_owned(), |limit| limit.words());
    let message = format!(
        "{} is {} h old, counted from the end of its day, the plan requires {words}: wait, or \
         have the witness come",
        paper.called(),
        crate::hold_points::figure(hours)
    );
    Err(refused(message).fact("notice_age_h", hours))
}
