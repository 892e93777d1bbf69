//! Builds: the packages of many segments, made by the server in one go.

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use obvert_proto::{
    closeout::v1::{
        Build, BuildState, BuildStatus, CancelBuildRequest, Package, ResumeBuildRequest,
        StartBuildRequest, WatchBuildRequest, closeout_service_client::CloseoutServiceClient,
        record::Body,
    },
    common::v1::ListRecordsRequest,
    counted,
};
use serde_json::json;

use super::{Session, package::fetch_into, text, write};
use crate::{Exit, Failure, progress};

/// Packages read at once.
const PAGE: i32 = 500;

/// Begins a build and, unless told otherwise, waits for its end.
pub(crate) async fn assemble_all(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let segments = given.get_many::<String>("segment");
    let project = text(given, "project").to_owned();
    let request = StartBuildRequest {
        write: Some(write::envelope(given)),
        project: project.clone(),
        segments: segments.unwrap_or_default().cloned().collect(),
        with_people: given.get_flag("with-people"),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let status = client.start_build(request).await?.into_inner();
    let Some(meta) = &status.meta else {
        return show(session, "would be begun", &status);
    };
    if given.get_flag("no-wait") {
        return show(session, &meta.name, &status);
    }
    let ended = watched(session, &meta.name).await?;
    if let Some(folder) = given.get_one::<PathBuf>("out") {
        fetch_all(session, &project, &meta.name, folder).await?;
    }
    told(session, &meta.name, &ended)
}

/// Shows how far a build is until it ends.
pub(crate) async fn watch(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let name = text(given, "name");
    let ended = watched(session, name).await?;
    told(session, name, &ended)
}

/// Gives a build up.
pub(crate) async fn cancel(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let name = text(given, "name").to_owned();
    let request = CancelBuildRequest {
        write: Some(write::envelope(given)),
        name: name.clone(),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let status = client.cancel_build(request).await?.into_inner();
    show(session, &name, &status)
}

/// Goes on with a build that stopped, and waits for its end.
pub(crate) async fn resume(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let name = text(given, "name").to_owned();
    let write = write::envelope(given);
    let stays = write.validate_only;
    let request = ResumeBuildRequest {
        write: Some(write),
        name: name.clone(),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let status = client.resume_build(request).await?.into_inner();
    if stays {
        return show(session, &name, &status);
    }
    let ended = watched(session, &name).await?;
    told(session, &name, &ended)
}

/// Follows a build; its last state.
async fn watched(session: &Session, name: &str) -> Result<BuildStatus, Failure> {
    let request = WatchBuildRequest {
        name: name.to_owned(),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let mut states = client.watch_build(request).await?.into_inner();
    let bar = progress::steps(0, "packages");
    let mut last = None;
    while let Some(status) = states.message().await? {
        if let Some(build) = &status.build {
            bar.set_length(u64::try_from(build.total_count).unwrap_or_default());
            bar.set_position(u64::try_from(build.done_count).unwrap_or_default());
        }
        last = Some(status);
    }
    bar.finish_and_clear();
    let lost = || Failure::new(Exit::Unavailable, format!("nothing was heard of {name}"));
    let last = last.ok_or_else(lost)?;
    let runs = |build: &Build| build.state() == BuildState::Running;
    if last.build.as_ref().is_some_and(runs) {
        let message = format!(
            "the server stopped before {name} ended; it goes on when it is started again: \
             obvert build watch {name}"
        );
        return Err(Failure::new(Exit::Unavailable, message));
    }
    Ok(last)
}

/// Says what came of an ended build; a segment that failed makes the command fail.
fn told(session: &Session, name: &str, ended: &BuildStatus) -> Result<(), Failure> {
    show(session, name, ended)?;
    let stopped = ended.build.as_ref().map(|build| &build.stop_reason);
    if let Some(why) = stopped.filter(|why| !why.is_empty()) {
        let message =
            format!("it stopped: {why}; who may goes on with: obvert build resume {name}");
        return Err(Failure::new(Exit::Failure, message));
    }
    let gaps = ended.build.iter().flat_map(|build| &build.gaps);
    match gaps.filter(|gap| gap.failed).count() {
        0 => Ok(()),
        failed => {
            let packages = counted(failed, "package", "packages");
            let message = format!("{packages} could not be made: the table says why");
            Err(Failure::new(Exit::Failure, message))
        }
    }
}

fn show(session: &Session, name: &str, status: &BuildStatus) -> Result<(), Failure> {
    let output = session.output;
    let build = status.build.clone().unwrap_or_default();
    let state = word(build.state());
    let gaps = build.gaps.iter();
    if output.is_json() {
        let gap = |gap: &obvert_proto::closeout::v1::BuildGap| json!({"segment": gap.segment, "reason": gap.reason, "failed": gap.failed});
        return output.json(&json!({
            "name": name, "state": state, "projectRevision": build.project_revision,
            "totalCount": build.total_count, "doneCount": build.done_count,
            "packageCount": build.package_count, "stopReason": build.stop_reason, "gaps": gaps.map(gap).collect::<Vec<_>>(),
        }));
    }
    output.say(&format!(
        "{name}: {state}, {}, {} of {} at revision {}",
        counted(build.package_count, "package", "packages"),
        build.done_count,
        counted(build.total_count, "segment", "segments"),
        build.project_revision
    ))?;
    if build.gaps.is_empty() {
        return Ok(());
    }
    let row = |gap: &obvert_proto::closeout::v1::BuildGap| {
        let why = if gap.failed { "failed" } else { "held" };
        vec![gap.segment.clone(), why.to_owned(), gap.reason.clone()]
    };
    output.table(&["segment", "", "why"], &gaps.map(row).collect::<Vec<_>>())
}

fn word(state: BuildState) -> &'static str {
    match state {
        BuildState::Running => "under way",
        BuildState::Done => "done",
        BuildState::Cancelled => "given up",
        BuildState::Stopped => "stopped",
        BuildState::Unspecified => "not begun",
    }
}

/// Downloads every package that a build made.
async fn fetch_all(
    session: &Session,
    project: &str,
    build: &str,
    folder: &Path,
) -> Result<(), Failure> {
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let mut page_token = String::new();
    loop {
        let request = ListRecordsRequest {
            project: project.to_owned(),
            collection: "packages".to_owned(),
            page_size: PAGE,
            page_token,
            ..ListRecordsRequest::default()
        };
        let page = client.list_records(request).await?.into_inner();
        for record in page.records {
            let (Some(meta), Some(Body::Package(package))) = (record.meta, record.body) else {
                continue;
            };
            if package.build == build {
                fetch_one(session, &meta.name, &package, folder).await?;
            }
        }
        page_token = page.next_page_token;
        if page_token.is_empty() {
            return Ok(());
        }
    }
}

async fn fetch_one(
    session: &Session,
    name: &str,
    package: &Package,
    folder: &Path,
) -> Result<(), Failure> {
    let path = fetch_into(session, name, package, folder).await?;
    if session.output.is_json() {
        return Ok(());
    }
    session.output.say(&path.display().to_string())
}
