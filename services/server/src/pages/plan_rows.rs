//! Rows of the plan's states on the page of a segment.

use obvert_closeout::segment_file::SegmentFile;
use obvert_proto::{
    closeout::v1::{PlanState, SegmentStatus},
    common::v1::RecordRef,
    dates::unix_ms,
};
use serde::Serialize;

/// One state of the plan, with who filed it and what it changed.
#[derive(Serialize)]
pub(super) struct PlanStateRow {
    record: String,
    mark: String,
    filed_by: String,
    time: String,
    reason: String,
    changes: Vec<String>,
    /// Points that stand by releases under this state.
    released: String,
}

/// States of the plan up to the one that judges.
pub(super) fn plan_state_rows(status: &SegmentStatus, file: &SegmentFile) -> Vec<PlanStateRow> {
    let row = |state: &PlanState| {
        let judged = status.points.iter();
        let judged = judged.filter(|p| p.judged_by.is_some() && p.judged_by == state.plan);
        let judged: Vec<_> = judged.map(|point| point.point.as_str()).collect();
        let time = state.commit_time.as_ref();
        PlanStateRow {
            record: state.plan.as_ref().map_or(String::new(), plan_name),
            mark: state.plan_revision.clone(),
            filed_by: format!("{} ({})", state.principal, state.role),
            time: time.map_or(String::new(), |time| file.local_time(unix_ms(time))),
            reason: state.reason.clone(),
            changes: state.changes.clone(),
            released: judged.join(", "),
        }
    };
    status.plan_states.iter().map(row).collect()
}

/// Name and revision of a plan.
pub(super) fn plan_name(plan: &RecordRef) -> String {
    format!("{}@{}", plan.name, plan.revision)
}
