//! Every state of the plan up to the one that judges, with who filed it and what it changed.
//!
//! The contractor's office may enter the owner's plan, so that a reader of a package must see who
//! changed what of it: always, and not only where a release is older than a change.

use std::sync::Arc;

use obvert_ledger::Stored;
use obvert_proto::{
    closeout::v1::{Plan, PlanState},
    common::v1::RecordRef,
    dates::from_unix_ms,
    project::v1::Project,
};
use prost::Message;

use crate::plan::{self, PlanText};

/// A plan as read, with its states, which segments of one project share.
#[derive(Debug, Clone)]
pub(crate) struct ReadPlan {
    pub(crate) record: RecordRef,
    /// State of the project that names it.
    pub(crate) named_by: RecordRef,
    pub(crate) text: Arc<PlanText>,
    pub(crate) states: Arc<[PlanState]>,
}

/// A plan that a project named, until another took its place.
pub(crate) struct Reign {
    pub(crate) plan: String,
    /// Revision and time of the project's state that named another.
    pub(crate) end: Option<(i64, i64)>,
}

/// Plans that the states of a project named, in order of time.
pub(crate) fn reigns(project: &[Stored]) -> Vec<Reign> {
    let mut reigns: Vec<Reign> = Vec::new();
    for state in project {
        let plan = Project::decode(state.body.clone()).map_or(String::new(), |p| p.plan);
        if reigns.last().is_some_and(|reign| reign.plan == plan) {
            continue;
        }
        if let Some(last) = reigns.last_mut() {
            last.end = Some((state.revision, state.commit_time_ms));
        }
        reigns.push(Reign { plan, end: None });
    }
    reigns.retain(|reign| !reign.plan.is_empty());
    reigns
}

/// The states in order, each beside the one before it.
pub(crate) fn states(all: &[Stored]) -> Vec<PlanState> {
    let read = |stored: &Stored| {
        let plan = Plan::decode(stored.body.clone()).unwrap_or_default();
        let text = plan::parse(&plan.source).ok();
        (stored.clone(), plan, text)
    };
    let all: Vec<_> = all.iter().map(read).collect();
    let state = |(place, (stored, plan, text)): (usize, &(Stored, Plan, Option<PlanText>))| {
        let (before, mut changes) = (&all[..place], Vec::new());
        if let Some((old, _, old_text)) = before.last() {
            if old.name != stored.name {
                let (name, revision) = (&old.name, old.revision);
                changes.push(format!(
                    "the project names it in place of {name}@{revision}"
                ));
            }
            match (old_text, text) {
                (Some(old), Some(text)) => changes.extend(plan::changes(old, text)),
                _ => changes.push("one of the two cannot be read any more".to_owned()),
            }
        }
        let other = |(_, old, old_text): &&(Stored, Plan, Option<PlanText>)| {
            (&old.owner, &old.plan_revision) == (&plan.owner, &plan.plan_revision)
                && old_text != text
        };
        if let Some((old, ..)) = before.iter().rev().find(other) {
            let (mark, name, revision) = (&plan.plan_revision, &old.name, old.revision);
            let said = format!("its mark \"{mark}\" stood on other content in {name}@{revision}");
            changes.push(said);
        }
        PlanState {
            plan: Some(RecordRef {
                name: stored.name.clone(),
                revision: stored.revision,
            }),
            plan_revision: plan.plan_revision.clone(),
            principal: stored.caller.principal.clone(),
            role: stored.caller.role.clone(),
            commit_time: Some(from_unix_ms(stored.commit_time_ms)),
            reason: stored.reason.clone(),
            changes,
        }
    };
    all.iter().enumerate().map(state).collect()
}
