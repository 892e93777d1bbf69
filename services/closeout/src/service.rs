//! The RPCs of the closeout service.

mod allowed;
mod lapse;
mod release;

use std::sync::Arc;

use futures::{Stream, StreamExt, stream};
use obvert_access::Action;
use obvert_ledger::Ledger;
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{
        self, AssemblePackageRequest, CheckPlanRequest, CheckPlanResponse, DownloadPackageRequest,
        EvaluateProjectRequest, EvaluateSegmentRequest, ReleasePointRequest, ReleasePointResponse,
        SegmentStatus, SegmentTrace, TraceSegmentRequest, closeout_service_server::CloseoutService,
    },
};
use obvert_records::{Answers, Records, names, now_ms, opened, refusal};
use tonic::{Request, Response, Status};

use crate::{
    load_segment,
    package::{AssembleStream, DownloadStream, Press, assemble_stream, download_stream, trace},
    plan,
    rules::CloseoutRegister,
};

/// Segments listed at once.
const SEGMENTS: usize = 500;

/// The closeout service over a ledger.
#[derive(Clone)]
pub struct Closeout {
    records: Records<CloseoutRegister>,
    press: Option<Arc<Press>>,
}

impl Closeout {
    /// Service over a ledger; without a press it assembles no packages.
    pub fn new(ledger: Ledger, press: Option<Arc<Press>>) -> Self {
        Self {
            records: Records::new(ledger),
            press,
        }
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

    obvert_records::common_verbs!(v1);

    async fn check_plan(
        &self,
        request: Request<CheckPlanRequest>,
    ) -> Result<Response<CheckPlanResponse>, Status> {
        let (_, CheckPlanRequest { source }) = opened(request)?;
        Ok(Response::new(match plan::parse(&source) {
            Ok(plan) => {
                let points = plan.points.into_iter().map(|point| point.id).collect();
                CheckPlanResponse {
                    faults: Vec::new(),
                    points,
                }
            }
            Err(faults) => CheckPlanResponse {
                faults,
                points: Vec::new(),
            },
        }))
    }

    async fn evaluate_segment(
        &self,
        request: Request<EvaluateSegmentRequest>,
    ) -> Result<Response<SegmentStatus>, Status> {
        let (caller, EvaluateSegmentRequest { segment, revision }) = opened(request)?;
        caller.may(Action::ReadStatus, names::project_of(&segment))?;
        let revision = checked(revision)?;
        Ok(Response::new(
            load_segment(self.ledger(), &segment, revision)
                .await?
                .status(),
        ))
    }

    async fn evaluate_project(
        &self,
        request: Request<EvaluateProjectRequest>,
    ) -> Result<Response<Self::EvaluateProjectStream>, Status> {
        let (caller, EvaluateProjectRequest { project, revision }) = opened(request)?;
        caller.may(Action::ReadStatus, &project)?;
        let head = self.ledger().head(project.clone()).await.map_err(refusal)?;
        let at = match checked(revision)? {
            0 => head.revision,
            at => at.min(head.revision),
        };
        let segments = segments(self.ledger(), project, at);
        let ledger = self.ledger().clone();
        let statuses = segments.then(move |segment| {
            let ledger = ledger.clone();
            async move { Ok(load_segment(&ledger, &segment?, at).await?.status()) }
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
