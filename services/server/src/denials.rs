//! Tells the access log of every call and page that was refused to its caller.

use std::{collections::HashSet, sync::LazyLock};

use axum::{
    extract::{MatchedPath, Request, State},
    middleware::Next,
    response::Response,
};
use obvert_access::{AccessLog, Peer, log};
use obvert_proto::{Problem, common::v1::Reason, pool};
use obvert_records::{names, now_ms};
use tonic::{Code, Status};
use tonic_types::StatusExt;

/// Put on a page's response to say why it was not shown.
#[derive(Clone)]
pub(crate) struct Denied(pub(crate) Problem);

/// RPCs that exist. Any other path is not written down: it may hold whatever its sender pasted.
static METHODS: LazyLock<HashSet<String>> = LazyLock::new(|| {
    let methods = pool()
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>());
    methods
        .map(|m| format!("/{}/{}", m.parent_service().full_name(), m.name()))
        .collect()
});

/// Lets a request through and looks at its answer.
pub(crate) async fn note(State(log): State<AccessLog>, request: Request, next: Next) -> Response {
    let page = request.extensions().get::<MatchedPath>().cloned();
    let peer = request.extensions().get::<Peer>().copied();
    let uri = request.uri().clone();
    let response = next.run(request).await;
    let page_problem = response.extensions().get::<Denied>().map(|d| d.0.clone());
    let Some(problem) = page_problem.or_else(|| call_problem(&response)) else {
        return response;
    };
    if !matches!(
        problem.reason,
        Reason::NotAuthenticated | Reason::NotAllowed
    ) {
        return response;
    }
    let path = uri.path();
    let method = match &page {
        Some(page) => page.as_str(),
        None if METHODS.contains(path) => path,
        None if path.starts_with("/grpc.reflection.") => "/grpc.reflection",
        None => "none that exists",
    };
    let project = path.strip_prefix("/projects/").unwrap_or_default();
    let project = project.split('/').next().filter(|id| names::is_id(id));
    let peer = peer.map(|Peer(address)| address.to_string());
    log.denied(log::denied(
        &problem,
        method,
        project.unwrap_or_default(),
        &peer.unwrap_or_default(),
        now_ms(),
    ));
    response
}

/// What a gRPC answer says in its headers, if it refuses its caller.
fn call_problem(response: &Response) -> Option<Problem> {
    let code = response.headers().get("grpc-status")?;
    if code != "7" && code != "16" {
        return None;
    }
    let status = Status::from_header_map(response.headers())?;
    let reason = match status.code() {
        Code::Unauthenticated => Reason::NotAuthenticated,
        _ => Reason::NotAllowed,
    };
    let mut problem = Problem::new(reason, status.message());
    if let Some(info) = status.get_details_error_info() {
        problem.facts.extend(info.metadata);
    }
    Some(problem)
}
