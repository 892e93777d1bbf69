//! Plans as texts: checked and compared before they are stored.
//!
//! Any key may ask, and a text may be long, so that it is read beside the threads that answer calls.

use obvert_access::{Action, Caller};
use obvert_ledger::Ledger;
use obvert_proto::{
    Problem,
    closeout::v1::{
        CheckPlanRequest, CheckPlanResponse, ComparePlansRequest, ComparePlansResponse,
    },
    common::v1::Reason,
};
use tokio::task::spawn_blocking;

use crate::{
    package,
    plan::{self, CoverText, PlanText},
    rules::plan_problem,
};

/// What is wrong with a plan, or what it says.
pub(super) async fn checked(
    ledger: &Ledger,
    caller: &Caller,
    CheckPlanRequest { source, project }: CheckPlanRequest,
) -> Result<CheckPlanResponse, Problem> {
    let read = move || match plan::parse(&source) {
        Ok(plan) => (explained(&plan), plan.package.cover),
        Err(faults) => {
            let refused = CheckPlanResponse {
                faults,
                ..CheckPlanResponse::default()
            };
            (refused, None)
        }
    };
    let (mut answer, cover) = aside(read).await?;
    let cover = cover.filter(|_| !project.is_empty());
    if let Some(cover) = cover {
        answer.findings = logo_findings(ledger, caller, &project, &cover).await?;
    }
    Ok(answer)
}

/// What one plan changes of another.
pub(super) async fn compared(
    ComparePlansRequest { before, after }: ComparePlansRequest,
) -> Result<ComparePlansResponse, Problem> {
    let read = |which: &str, source: &str| {
        plan::parse(source).map_err(|faults| plan_problem(which, &faults))
    };
    let changes = aside(move || {
        let before = read("the plan before", &before)?;
        Ok(plan::changes(&before, &read("the plan after", &after)?))
    });
    let changes: Result<Vec<String>, Problem> = changes.await?;
    Ok(ComparePlansResponse { changes: changes? })
}

async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Problem> {
    let done = spawn_blocking(work).await;
    done.map_err(|error| {
        let message = format!("a plan could not be read to its end: {error}");
        Problem::new(Reason::Internal, message)
    })
}

/// Any key may check a plan; only who reads the project is told of its files.
async fn logo_findings(
    ledger: &Ledger,
    caller: &Caller,
    project: &str,
    cover: &CoverText,
) -> Result<Vec<String>, Problem> {
    match caller.may(Action::Read, project) {
        Ok(_) => package::logo_findings(ledger, project, cover).await,
        Err(refused) => Ok(vec![format!(
            "The logo was not looked for: {}.",
            refused.message
        )]),
    }
}

fn explained(plan: &PlanText) -> CheckPlanResponse {
    let cover = plan.package.cover.as_ref();
    let cover = cover.map_or(Vec::new(), CoverText::rows).into_iter();
    CheckPlanResponse {
        faults: Vec::new(),
        points: plan.points.iter().map(|point| point.id.clone()).collect(),
        explained: plan::explain(plan),
        left_out: plan::section_titles(&plan.package.left_out),
        cover: cover.map(|(what, is)| format!("{what}: {is}")).collect(),
        plugin_sections: plan.package.plugin_sections.clone(),
        findings: Vec::new(),
        title: plan.title.clone(),
        owner: plan.owner.clone(),
        plan_revision: plan.revision.clone(),
        limits: plan::explain_limits(plan),
    }
}
