//! An evaluator that says what it is told to say.

use std::sync::{
    Arc,
    atomic::{AtomicUsize, Ordering},
};

use futures::future::BoxFuture;
use obvert_proto::{
    closeout::v1::Verdict,
    common::v1::Finding,
    plugin::v1::{
        DescribeRequest, DescribeResponse, EvaluateRequest, EvaluateResponse,
        evaluator_service_server::{EvaluatorService, EvaluatorServiceServer},
    },
};
use tonic::{Request, Response, Status};

type Judge =
    dyn Fn(EvaluateRequest) -> BoxFuture<'static, Result<EvaluateResponse, Status>> + Send + Sync;

/// An evaluator of a test.
#[derive(Clone)]
pub(super) struct Fake {
    pub(super) description: DescribeResponse,
    pub(super) calls: Arc<AtomicUsize>,
    judge: Arc<Judge>,
}

impl Fake {
    /// An evaluator of a name that answers by a function.
    pub(super) fn new(
        name: &str,
        judge: impl Fn(EvaluateRequest) -> Result<EvaluateResponse, Status> + Send + Sync + 'static,
    ) -> Self {
        Self::waiting(name, move |request| {
            let answer = judge(request);
            Box::pin(async move { answer })
        })
    }

    /// An evaluator that takes its time.
    pub(super) fn waiting(
        name: &str,
        judge: impl Fn(EvaluateRequest) -> BoxFuture<'static, Result<EvaluateResponse, Status>>
        + Send
        + Sync
        + 'static,
    ) -> Self {
        Self {
            description: description(name),
            calls: Arc::default(),
            judge: Arc::new(judge),
        }
    }

    /// One that releases whatever it gets, by all of it.
    pub(super) fn releasing(name: &str) -> Self {
        Self::new(name, |request| Ok(released(request)))
    }

    pub(super) fn call_count(&self) -> usize {
        self.calls.load(Ordering::SeqCst)
    }

    /// The evaluator as a service that takes as much evidence as a server sends.
    pub(super) fn service(&self) -> EvaluatorServiceServer<Self> {
        EvaluatorServiceServer::new(self.clone()).max_decoding_message_size(8 << 20)
    }
}

#[tonic::async_trait]
impl EvaluatorService for Fake {
    async fn describe(
        &self,
        _: Request<DescribeRequest>,
    ) -> Result<Response<DescribeResponse>, Status> {
        Ok(Response::new(self.description.clone()))
    }

    async fn evaluate(
        &self,
        request: Request<EvaluateRequest>,
    ) -> Result<Response<EvaluateResponse>, Status> {
        self.calls.fetch_add(1, Ordering::SeqCst);
        (self.judge)(request.into_inner()).await.map(Response::new)
    }
}

pub(super) fn description(name: &str) -> DescribeResponse {
    DescribeResponse {
        evaluator: name.into(),
        version: "1.0.0".into(),
        contract_revision: 1,
        ..DescribeResponse::default()
    }
}

/// An answer about what was asked, without a verdict.
pub(super) fn about(request: &EvaluateRequest) -> EvaluateResponse {
    EvaluateResponse {
        segment: request.segment.clone(),
        point: request.point.clone(),
        evidence_digest: request.evidence_digest.clone(),
        ..EvaluateResponse::default()
    }
}

pub(super) fn released(request: EvaluateRequest) -> EvaluateResponse {
    let answer = about(&request);
    let evidence = request.evidence.into_iter().filter_map(|sent| sent.record);
    EvaluateResponse {
        verdict: Verdict::Released.into(),
        evidence: evidence.collect(),
        ..answer
    }
}

pub(super) fn held(request: &EvaluateRequest, code: &str, message: &str) -> EvaluateResponse {
    EvaluateResponse {
        verdict: Verdict::Held.into(),
        findings: vec![Finding {
            code: code.into(),
            message: message.into(),
            holds: true,
            ..Finding::default()
        }],
        ..about(request)
    }
}
