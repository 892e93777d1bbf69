//! Every state of the plan so far: who filed it, when and why, and what it changed.

use obvert_proto::closeout::v1::PlanState;
use obvert_typeset::segment_sheet;

use super::{View, points::sentence};
use crate::package::words::{self, counted};

pub(super) fn plan_states(view: &View<'_>) -> Vec<segment_sheet::PlanState> {
    let states = &view.status.plan_states;
    states.iter().map(|state| row(view, state)).collect()
}

fn row(view: &View<'_>, state: &PlanState) -> segment_sheet::PlanState {
    let judged = view.status.points.iter();
    let judged = judged.filter(|point| point.judged_by.is_some() && point.judged_by == state.plan);
    let judged: Vec<_> = judged.map(|point| point.point.as_str()).collect();
    segment_sheet::PlanState {
        record: words::reference(state.plan.as_ref()),
        filed: filed(view, state),
        reason: match state.reason.as_str() {
            "" => "None given.".to_owned(),
            reason => sentence(reason),
        },
        changes: state
            .changes
            .iter()
            .map(|change| sentence(change))
            .collect(),
        released: judged.join(", "),
    }
}

/// The owner's mark, who filed it, and when.
fn filed(view: &View<'_>, state: &PlanState) -> String {
    format!(
        "revision {}, filed by {} ({}), {}",
        state.plan_revision,
        state.principal,
        state.role,
        view.time(state.commit_time.as_ref(), "at a time that is not known")
    )
}

/// The state that judges, for the cover; empty where it is not among the states.
pub(super) fn judging(view: &View<'_>) -> String {
    let mut states = view.status.plan_states.iter().rev();
    let judging = states.find(|state| state.plan == view.status.plan);
    judging.map_or(String::new(), |state| filed(view, state))
}

/// That the plan changed, for who reads the first page only.
pub(super) fn changed(view: &View<'_>) -> Option<String> {
    let changes = view.status.plan_states.len().saturating_sub(1);
    let times = counted(changes, "time", "times");
    (changes > 0).then(|| {
        format!(
            "The plan was changed {times}; the heading \"States of the plan\" says what each change \
             was, who filed it and why."
        )
    })
}
