//! Packages of a whole project: begun with a button, watched, given up.

use std::collections::BTreeMap;

use axum::{
    extract::{Form, Path, State, rejection::FormRejection},
    http::{HeaderMap, StatusCode, Uri},
    response::{IntoResponse, Redirect, Response},
};
use obvert_access::Action;
use obvert_proto::{
    Problem,
    closeout::v1::{
        Build, BuildGap, BuildState, CancelBuildRequest, ResumeBuildRequest, StartBuildRequest,
    },
    common::v1::Write,
    counted,
    project::v1::Project,
};
use obvert_records::{called, message_of, names, refusal};
use serde::{Deserialize, Serialize};

use super::{
    Pages, Unshown,
    views::{ProjectLink, existing},
};

/// What the button sends.
#[derive(Deserialize)]
pub(crate) struct Asked {
    /// Made with the page, so that a button pressed twice begins one build.
    request: String,
    #[serde(default)]
    with_people: String,
}

#[derive(Serialize)]
struct Data {
    principal: String,
    project: ProjectLink,
    id: String,
    state: &'static str,
    runs: bool,
    may_cancel: bool,
    may_resume: bool,
    stop_reason: String,
    revision: i64,
    done_count: i32,
    total_count: i32,
    dealt: String,
    with_people: bool,
    begun_by: String,
    gaps: Vec<Gap>,
}

#[derive(Serialize)]
struct Gap {
    id: String,
    number: String,
    reason: String,
    failed: bool,
}

/// Begins the packages of all accepted segments.
pub(crate) async fn start(
    State(pages): State<Pages>,
    Path(project): Path<String>,
    uri: Uri,
    headers: HeaderMap,
    asked: Result<Form<Asked>, FormRejection>,
) -> Result<Response, Unshown> {
    let form = (&uri, &headers);
    let caller = pages.sender(form, Action::Assemble, &project).await?;
    let Ok(Form(asked)) = asked else {
        return Ok((StatusCode::BAD_REQUEST, "the form is not whole").into_response());
    };
    let request = StartBuildRequest {
        write: Some(Write {
            request_id: asked.request,
            reason: "begun on the page of the project".to_owned(),
            ..Write::default()
        }),
        project: project.clone(),
        segments: Vec::new(),
        with_people: !asked.with_people.is_empty(),
    };
    let begun = pages.doors.closeout.begin_build(&caller, request).await;
    let begun = begun.map_err(|problem| pages.unshown(problem))?;
    let name = begun.meta.map(|meta| meta.name).unwrap_or_default();
    Ok(to_page(&project, names::id_of(&name)))
}

/// How far a build is.
pub(crate) async fn show(
    State(pages): State<Pages>,
    Path((project, id)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let caller = pages.caller(&headers).await?;
    let shown = async {
        caller.may(Action::ReadStatus, &project)?;
        let stored = existing(&pages, &names::join(&project, "builds", &id)).await?;
        let build: Build = message_of(&stored)?;
        let runs = build.state() == BuildState::Running;
        let stopped = build.state() == BuildState::Stopped;
        let may = caller.may(Action::Assemble, &project).is_ok();
        let home = existing(&pages, &names::join("", "projects", &project)).await?;
        let Project { title, .. } = message_of(&home)?;
        Ok(Data {
            principal: caller.principal.clone(),
            may_cancel: (runs || stopped) && may,
            may_resume: stopped && may,
            stop_reason: build.stop_reason.clone(),
            project: ProjectLink { id: project, title },
            id,
            state: word(build.state()),
            runs,
            revision: build.project_revision,
            done_count: build.done_count,
            total_count: build.total_count,
            dealt: dealt(&build),
            with_people: build.with_people,
            begun_by: stored.caller.principal,
            gaps: gaps(&pages, build.gaps).await?,
        })
    };
    let data = shown.await.map_err(|problem| pages.unshown(problem))?;
    Ok(pages.page("build.html", &data))
}

/// How far it is, in words.
fn dealt(build: &Build) -> String {
    let segments = counted(build.total_count, "segment", "segments");
    let packages = match build.package_count {
        0 => "no package".to_owned(),
        count => counted(count, "package", "packages"),
    };
    format!(
        "{} of {segments} dealt with, {packages} made",
        build.done_count
    )
}

/// Segments without a package, by the owner's own numbers.
async fn gaps(pages: &Pages, gaps: Vec<BuildGap>) -> Result<Vec<Gap>, Problem> {
    let names = gaps.iter().map(|gap| gap.segment.clone()).collect();
    let segments = pages.ledger.get_many(names, 0).await.map_err(refusal)?;
    let numbers: BTreeMap<_, _> = segments.iter().map(|s| (&s.name, called(s))).collect();
    let gap = |gap: BuildGap| Gap {
        id: names::id_of(&gap.segment).to_owned(),
        number: match numbers.get(&gap.segment) {
            Some(number) => number.clone(),
            None => names::number_of(&gap.segment),
        },
        reason: gap.reason,
        failed: gap.failed,
    };
    Ok(gaps.into_iter().map(gap).collect())
}

/// Gives a build up.
pub(crate) async fn cancel(
    State(pages): State<Pages>,
    Path((project, id)): Path<(String, String)>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let form = (&uri, &headers);
    let caller = pages.sender(form, Action::Assemble, &project).await?;
    let request = CancelBuildRequest {
        write: Some(Write {
            request_id: format!("cancel-{id}"),
            reason: "given up on the page of the build".to_owned(),
            ..Write::default()
        }),
        name: names::join(&project, "builds", &id),
    };
    let ended = pages.doors.closeout.end_build(&caller, request).await;
    ended.map_err(|problem| pages.unshown(problem))?;
    Ok(to_page(&project, &id))
}

/// Goes on with a build that stopped, in the name of who presses the button.
pub(crate) async fn resume(
    State(pages): State<Pages>,
    Path((project, id)): Path<(String, String)>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let form = (&uri, &headers);
    let caller = pages.sender(form, Action::Assemble, &project).await?;
    let name = names::join(&project, "builds", &id);
    let stopped = existing(&pages, &name).await;
    let stopped = stopped.map_err(|problem| pages.unshown(problem))?;
    let request = ResumeBuildRequest {
        write: Some(Write {
            // A build may stop more than once.
            request_id: format!("resume-{id}-{}", stopped.revision),
            reason: "resumed on the page of the build".to_owned(),
            ..Write::default()
        }),
        name,
    };
    let closeout = &pages.doors.closeout;
    let resumed = closeout.go_on_with_build(&caller, request).await;
    resumed.map_err(|problem| pages.unshown(problem))?;
    Ok(to_page(&project, &id))
}

/// Leads to the page of a build.
fn to_page(project: &str, id: &str) -> Response {
    Redirect::to(&format!("/projects/{project}/builds/{id}")).into_response()
}

fn word(state: BuildState) -> &'static str {
    match state {
        BuildState::Running => "under way",
        BuildState::Done => "done",
        BuildState::Cancelled => "given up",
        BuildState::Stopped => "stopped",
        BuildState::Unspecified => "unknown",
    }
}
