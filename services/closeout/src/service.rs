//! The RPCs of the closeout service.

mod allowed;
mod given;
mod lapse;
mod plans;
mod release;

use std::sync::Arc;

use futures::{Stream, StreamExt, stream};
use obvert_access::{Action, Caller};
use obvert_ledger::Ledger;
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{
        self, AssemblePackageRequest, BuildStatus, CancelBuildRequest, CheckPlanRequest,
        CheckPlanResponse, ComparePlansRequest, ComparePlansResponse, DownloadPackageRequest,
        EvaluateProjectRequest, EvaluateSegmentRequest, ListReleasesRequest, ListReleasesResponse,
        ReleasePointRequest, ReleasePointResponse, ResumeBuildRequest, SegmentStatus, SegmentTrace,
        StartBuildRequest, TraceSegmentRequest, WatchBuildRequest,
        closeout_service_server::CloseoutService,
    },
};
use obvert_records::{Answers, Records, is_of_project, names, now_ms, opened, refusal};
use tonic::{Request, Response, Status};

use crate::{
    Statuses, load_segment,
    package::{
        self, AssembleStream, DownloadStream, Press, assemble_stream, download_stream, trace,
    },
    rules::CloseoutRegister,
};

/// Segments listed at once.
const SEGMENTS: usize = 500;

/// The closeout service over a ledger.
#[derive(Clone)]
pub struct Closeout {
    records: Records<CloseoutRegister>,
    press: Option<Arc<Press>>,
    statuses: Statuses,
}

impl Closeout {
    /// Service over a ledger; without a press it assembles no packages.
    pub fn new(ledger: Ledger, press: Option<Arc<Press>>) -> Self {
        Self {
            statuses: Statuses::new(ledger.clone()),
            records: Records::new(ledger),
            press,
        }
    }

    /// Where segments stand, kept between questions.
    pub fn statuses(&self) -> Statuses {
        self.statuses.clone()
    }

    /// Goes on with every build of packages that was under way when the server stopped.
    ///
    /// # Errors
    ///
    /// A refusal of the ledger.
    pub async fn resume_builds(&self) -> Result<(), Problem> {
        match &self.press {
            Some(press) => package::resume(self.ledger(), press).await,
            None => Ok(()),
        }
    }

    /// Begins a build of packages, as `StartBuild` does.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, `FIELDS_INVALID`, or `CLAIM_TAKEN` while another is under way.
    pub async fn begin_build(
        &self,
        caller: &Caller,
        request: StartBuildRequest,
    ) -> Result<BuildStatus, Problem> {
        package::start(self.ledger(), self.press.clone(), caller, request, now_ms()).await
    }

    /// Gives a build up, as `CancelBuild` does.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, `RECORD_NOT_FOUND`, or `ACT_REFUSED` for one that has ended.
    pub async fn end_build(
        &self,
        caller: &Caller,
        request: CancelBuildRequest,
    ) -> Result<BuildStatus, Problem> {
        package::cancel(self.ledger(), caller, request, now_ms()).await
    }

    /// Goes on with a build that stopped, as `ResumeBuild` does.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, `RECORD_NOT_FOUND`, `ACT_REFUSED` for one that did not stop, or `CLAIM_TAKEN`
    /// while another is under way.
    pub async fn go_on_with_build(
        &self,
        caller: &Caller,
        request: ResumeBuildRequest,
    ) -> Result<BuildStatus, Problem> {
        package::go_on(self.ledger(), self.press.clone(), caller, request, now_ms()).await
    }

    fn ledger(&self) -> &Ledger {
        self.records.ledger()
    }
}

#[tonic::async_trait]
impl CloseoutService for Closeout {
    type EvaluateProjectStream = Answers<SegmentStatus>;
    type AssemblePackageStream = AssembleStream;
    type DownloadPackageStream = DownloadStream;
    type WatchBuildStream = Answers<BuildStatus>;

    obvert_records::common_verbs!(v1);

    async fn check_plan(
        &self,
        request: Request<CheckPlanRequest>,
    ) -> Result<Response<CheckPlanResponse>, Status> {
        let (caller, request) = opened(request)?;
        let checked = plans::checked(self.ledger(), &caller, request);
        Ok(Response::new(checked.await?))
    }

    async fn compare_plans(
        &self,
        request: Request<ComparePlansRequest>,
    ) -> Result<Response<ComparePlansResponse>, Status> {
        let (_, request) = opened(request)?;
        Ok(Response::new(plans::compared(request).await?))
    }

    async fn evaluate_segment(
        &self,
        request: Request<EvaluateSegmentRequest>,
    ) -> Result<Response<SegmentStatus>, Status> {
        let (caller, EvaluateSegmentRequest { segment, revision }) = opened(request)?;
        let project = names::project_of(&segment);
        caller.may(Action::ReadStatus, project)?;
        if checked(revision)? > 0 {
            let loaded = load_segment(self.ledger(), &segment, revision).await?;
            return Ok(Response::new(loaded.status()));
        }
        let now = self.statuses.now(project).await?;
        Ok(Response::new(self.statuses.at(&segment, now).await?))
    }

    async fn evaluate_project(
        &self,
        request: Request<EvaluateProjectRequest>,
    ) -> Result<Response<Self::EvaluateProjectStream>, Status> {
        let (caller, EvaluateProjectRequest { project, revision }) = opened(request)?;
        caller.may(Action::ReadStatus, &project)?;
        let now = self.statuses.now(&project).await?;
        is_of_project(checked(revision)?, &project, now.revision)?;
        let at = match revision {
            0 => now.revision,
            at => at,
        };
        let segments = segments(self.ledger(), project, at);
        let kept = self.statuses.clone();
        let ledger = self.ledger().clone();
        let statuses = segments.then(move |segment| {
            let (kept, ledger) = (kept.clone(), ledger.clone());
            async move {
                let segment = segment?;
                Ok(if at == now.revision {
                    kept.at(&segment, now).await?
                } else {
                    load_segment(&ledger, &segment, at).await?.status()
                })
            }
        });
        Ok(Response::new(Box::pin(statuses)))
    }

    async fn trace_segment(
        &self,
        request: Request<TraceSegmentRequest>,
    ) -> Result<Response<SegmentTrace>, Status> {
        let (caller, TraceSegmentRequest { segment, revision }) = opened(request)?;
        caller.may(Action::ReadStatus, names::project_of(&segment))?;
        let loaded = load_segment(self.ledger(), &segment, checked(revision)?).await?;
        Ok(Response::new(trace(loaded)?))
    }

    async fn list_releases(
        &self,
        request: Request<ListReleasesRequest>,
    ) -> Result<Response<ListReleasesResponse>, Status> {
        let (caller, ListReleasesRequest { segment, revision }) = opened(request)?;
        caller.may(Action::ReadStatus, names::project_of(&segment))?;
        let loaded = load_segment(self.ledger(), &segment, checked(revision)?).await?;
        Ok(Response::new(given::given(&loaded)))
    }

    async fn release_point(
        &self,
        request: Request<ReleasePointRequest>,
    ) -> Result<Response<ReleasePointResponse>, Status> {
        let (caller, request) = opened(request)?;
        let kinds = self.records.kinds();
        let released = release::release_point(self.ledger(), kinds, &caller, request, now_ms());
        Ok(Response::new(released.await?))
    }

    async fn assemble_package(
        &self,
        request: Request<AssemblePackageRequest>,
    ) -> Result<Response<Self::AssemblePackageStream>, Status> {
        let (caller, request) = opened(request)?;
        let press = self.press.clone();
        let steps = assemble_stream(self.ledger().clone(), press, caller, request, now_ms());
        Ok(Response::new(steps.await?))
    }

    async fn start_build(
        &self,
        request: Request<StartBuildRequest>,
    ) -> Result<Response<BuildStatus>, Status> {
        let (caller, request) = opened(request)?;
        Ok(Response::new(self.begin_build(&caller, request).await?))
    }

    async fn watch_build(
        &self,
        request: Request<WatchBuildRequest>,
    ) -> Result<Response<Self::WatchBuildStream>, Status> {
        let (caller, request) = opened(request)?;
        let states = package::watch(self.ledger().clone(), &caller, request);
        Ok(Response::new(states.await?))
    }

    async fn cancel_build(
        &self,
        request: Request<CancelBuildRequest>,
    ) -> Result<Response<BuildStatus>, Status> {
        let (caller, request) = opened(request)?;
        Ok(Response::new(self.end_build(&caller, request).await?))
    }

    async fn resume_build(
        &self,
        request: Request<ResumeBuildRequest>,
    ) -> Result<Response<BuildStatus>, Status> {
        let (caller, request) = opened(request)?;
        let status = self.go_on_with_build(&caller, request);
        Ok(Response::new(status.await?))
    }

    async fn download_package(
        &self,
        request: Request<DownloadPackageRequest>,
    ) -> Result<Response<Self::DownloadPackageStream>, Status> {
        let (caller, request) = opened(request)?;
        Ok(Response::new(
            download_stream(self.ledger().clone(), caller, request).await?,
        ))
    }
}

fn checked(revision: i64) -> Result<i64, Problem> {
    if revision >= 0 {
        return Ok(revision);
    }
    let message = format!("is {revision}: give 0 for the newest, or a revision of the project");
    Err(Problem::fields(vec![Violation::new("revision", message)]))
}

/// Names of a project's segments at a revision, page by page.
pub(crate) fn segments(
    ledger: &Ledger,
    project: String,
    at: i64,
) -> impl Stream<Item = Result<String, Problem>> + Send + use<> {
    let start = (ledger.clone(), project, Some(None::<String>));
    let pages = stream::try_unfold(start, move |(ledger, project, after)| async move {
        let Some(after) = after else {
            return Ok::<_, Problem>(None);
        };
        let list = ledger.list(project.clone(), "segments".to_owned(), after, SEGMENTS, at);
        let page = list.await.map_err(refusal)?;
        let names: Vec<_> = page
            .items
            .into_iter()
            .map(|stored| Ok(stored.name))
            .collect();
        let after = page.next.map(Some);
        Ok(Some((stream::iter(names), (ledger, project, after))))
    });
    pages.flat_map(|page| match page {
        Ok(names) => names.left_stream(),
        Err(problem) => stream::iter(vec![Err(problem)]).right_stream(),
    })
}
