//! The plan that judges a segment, with its states so far.

use std::{collections::BTreeSet, sync::Arc};

use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    closeout::v1::{Plan, PlanState, Release},
    common::v1::{Reason, RecordRef},
    project::v1::Project,
};
use obvert_records::{names, refusal};
use prost::Message;

use super::Gathering;
use crate::{
    plan,
    plan_states::{self, ReadPlan},
    rules::plan_problem,
};

impl Gathering<'_> {
    /// The plan that the project names, and its text.
    pub(super) async fn plan(
        &self,
        project: &Stored,
        known: Option<ReadPlan>,
    ) -> Result<(ReadPlan, String), Problem> {
        let wrong = |message: String| Problem::new(Reason::PlanInvalid, message);
        let named = Project::decode(project.body.clone())
            .map(|p| p.plan)
            .unwrap_or_default();
        if named.is_empty() {
            let message = format!(
                "{} names no plan: write a plan and name it in the project",
                project.name
            );
            return Err(wrong(message).fact("project", &project.name));
        }
        let here = names::parse(&named)
            .is_some_and(|p| project.name == names::join("", "projects", p.project));
        let stored = if here {
            self.ledger
                .get(named.clone(), self.at)
                .await
                .map_err(refusal)?
        } else {
            self.stood_at_time(named.clone()).await?
        };
        let Some(stored) = stored else {
            let message = format!(
                "plan {named} does not exist at revision {}: name another in the project",
                self.at
            );
            return Err(wrong(message).fact("plan", named));
        };
        let source = Plan::decode(stored.body.clone())
            .map(|plan| plan.source)
            .unwrap_or_default();
        let plan_ref = RecordRef {
            name: stored.name,
            revision: stored.revision,
        };
        let named_by = RecordRef {
            name: project.name.clone(),
            revision: project.revision,
        };
        let known = known.filter(|known| known.record == plan_ref);
        if let Some(plan) = known.clone().filter(|known| known.named_by == named_by) {
            return Ok((plan, source));
        }
        let text = match known {
            Some(known) => known.text,
            None => {
                let read = plan::parse(&source);
                Arc::new(read.map_err(|faults| plan_problem(&named, &faults))?)
            }
        };
        let states = self.plan_states(project, &plan_ref).await?.into();
        let plan = ReadPlan {
            record: plan_ref,
            named_by,
            text,
            states,
        };
        Ok((plan, source))
    }

    /// States of the plan by which points of the segment were released, but for the newest.
    pub(super) async fn former_plans(&self, now: &RecordRef) -> Result<Vec<Stored>, Problem> {
        let releases = self.of_type::<Release>();
        let judged_by = releases.into_iter().filter_map(|(_, release)| release.plan);
        let wanted: BTreeSet<(String, i64)> = judged_by
            .filter(|plan| plan != now)
            .map(|plan| (plan.name, plan.revision))
            .collect();
        let mut former = Vec::new();
        for (name, at) in wanted {
            former.extend(self.ledger.get(name, at).await.map_err(refusal)?);
        }
        Ok(former)
    }

    /// States of a record from the first to the last that is wanted.
    async fn states(
        &self,
        name: &str,
        wanted: impl Fn(&Stored) -> bool,
    ) -> Result<Vec<Stored>, Problem> {
        let (mut states, mut after) = (Vec::new(), 0);
        loop {
            let page = self.ledger.history(name.to_owned(), after, 100);
            let page = page.await.map_err(refusal)?;
            let last = page.items.last().filter(|last| wanted(last));
            let more = page.next.is_some() && last.is_some();
            after = last.map_or(after, |last| last.revision);
            states.extend(page.items.into_iter().filter(|state| wanted(state)));
            if !more {
                return Ok(states);
            }
        }
    }

    /// Every state of the plan up to the one that judges, and of those that were named before it.
    async fn plan_states(
        &self,
        project: &Stored,
        plan: &RecordRef,
    ) -> Result<Vec<PlanState>, Problem> {
        let named = self.states(&project.name, |state| state.revision <= project.revision);
        let mut all: Vec<Stored> = Vec::new();
        for reign in plan_states::reigns(&named.await?) {
            let at_home = names::project_of(&reign.plan) == names::project_of(&project.name);
            let wanted = |state: &Stored| match reign.end {
                None => state.revision <= plan.revision,
                Some((revision, _)) if at_home => state.revision < revision,
                Some((_, time_ms)) => state.commit_time_ms <= time_ms,
            };
            let states = self.states(&reign.plan, wanted).await?;
            let is_new = |state: &&Stored| {
                let mut listed = all.iter();
                !listed.any(|l| (&l.name, l.revision) == (&state.name, state.revision))
            };
            let new: Vec<_> = states.iter().filter(is_new).cloned().collect();
            // One that is named again stands once more where it changes what stood between.
            let again = states.last().filter(|_| new.is_empty()).cloned();
            all.extend(new.into_iter().chain(again));
        }
        Ok(plan_states::states(&all))
    }
}
