//! What every call passes before its service: who calls, is there room, how long may it take.

use std::{
    collections::{HashMap, HashSet},
    sync::Arc,
    time::Duration,
};

use axum::{
    body::Body,
    extract::{Request, State},
    http::{
        HeaderMap, HeaderValue, StatusCode,
        header::{AUTHORIZATION, RETRY_AFTER},
    },
    middleware::Next,
    response::{IntoResponse, Response},
};
use obvert_access::{
    Action, Caller, Keys,
    matrix::{self, Needs},
};
use obvert_proto::{Problem, common::v1::Reason, pool};
use obvert_records::now_ms;
use tokio::sync::Semaphore;
use tonic::Status;

use crate::{
    Limits,
    cut::{Tell, cut, key_ended},
    held::hold,
    idle::IdleBody,
};

/// RPCs of other schemas that stream.
const OTHERS_STREAMS: [&str; 2] = [
    "/grpc.health.v1.Health/Watch",
    "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo",
];

/// State of the guard.
#[derive(Clone)]
pub(crate) struct Guard {
    keys: Keys,
    limits: Limits,
    room: Arc<Semaphore>,
    /// Places of answers that go on after a call was let through.
    streams: Arc<Semaphore>,
    calls: Arc<HashMap<String, Call>>,
}

/// What is known of an RPC before its request is read.
struct Call {
    needs: Needs,
    /// Collections that its service keeps.
    collections: Vec<String>,
    is_streaming: bool,
}

impl Guard {
    pub(crate) fn new(keys: Keys, limits: Limits) -> Self {
        let room = Arc::new(Semaphore::new(limits.calls as usize));
        Self {
            keys,
            limits,
            room,
            streams: Arc::new(Semaphore::new(limits.open_streams as usize)),
            calls: Arc::new(calls()),
        }
    }
}

/// Lets a gRPC call through, or answers why not.
pub(crate) async fn guard(
    State(guard): State<Guard>,
    mut request: Request,
    next: Next,
) -> Response {
    let path = request.uri().path().to_owned();
    let Ok(_place) = guard.room.try_acquire() else {
        let message = format!(
            "{} calls are under way, no more fit: try again",
            guard.limits.calls
        );
        return refuse(Problem::new(Reason::Overloaded, message));
    };
    let Some(call) = guard.calls.get(&path) else {
        let message = "no such call here, or none that the table of roles knows: see obvertd roles";
        return Status::unimplemented(message).into_http();
    };
    let mut ended = None;
    if call.needs != Needs::Nothing {
        let caller = match caller(&guard, request.headers()).await {
            Ok(caller) => caller,
            Err(problem) => return refuse(problem),
        };
        if let Err(problem) = passes(&caller, call) {
            return refuse(problem);
        }
        ended = Some((guard.keys.clone(), caller.clone()));
        request.extensions_mut().insert(caller);
    }
    if call.is_streaming {
        let Ok(place) = Arc::clone(&guard.streams).try_acquire_owned() else {
            let most = guard.limits.open_streams;
            let message = format!("{most} streams are open, no more fit: try again");
            return refuse(Problem::new(Reason::Overloaded, message));
        };
        let idle = guard.limits.stream_idle();
        let request = request.map(|body| Body::new(IdleBody::new(body, idle)));
        return hold(under_key(next.run(request), ended).await, place);
    }
    let most = guard.limits.unary_deadline();
    let deadline = grpc_timeout(request.headers()).map_or(most, |asked| asked.min(most));
    match tokio::time::timeout(deadline, next.run(request)).await {
        Ok(response) => response,
        Err(_) => {
            let message = format!(
                "the call took longer than {} ms and was given up",
                deadline.as_millis()
            );
            Status::deadline_exceeded(message).into_http()
        }
    }
}

/// Lets a page be made while there is room, and no longer than a unary call may take. What a page
/// sends afterwards, such as a package, is bounded by its connection.
pub(crate) async fn bounded(State(guard): State<Guard>, request: Request, next: Next) -> Response {
    let busy = |status: StatusCode, what: &'static str| {
        let wait = [(RETRY_AFTER, HeaderValue::from_static("1"))];
        (status, wait, what).into_response()
    };
    let Ok(_place) = guard.room.try_acquire() else {
        let what = "the server has too much to do: try again\n";
        return busy(StatusCode::SERVICE_UNAVAILABLE, what);
    };
    let made = tokio::time::timeout(guard.limits.unary_deadline(), next.run(request));
    made.await.unwrap_or_else(|_| {
        let what = "the page took too long and was given up: try again\n";
        busy(StatusCode::REQUEST_TIMEOUT, what)
    })
}

/// Runs a call for as long as its key is in force; a call without a key, for as long as it likes.
async fn under_key(
    running: impl Future<Output = Response>,
    key: Option<(Keys, Caller)>,
) -> Response {
    let Some((keys, caller)) = key else {
        return running.await;
    };
    let mut ended = key_ended(keys, &caller);
    tokio::select! {
        response = running => cut(response, ended, Tell::Status),
        problem = &mut ended => refuse(problem),
    }
}

/// Lets pass whoever holds, in whatever project, a role that may do something of the call: who holds
/// none is told so before a byte of the request is read. The service asks again for the project.
fn passes(caller: &Caller, call: &Call) -> Result<(), Problem> {
    let may = |collection: &String| caller.may_somewhere(Action::Write(collection));
    match call.needs {
        Needs::KindWrite if !call.collections.iter().any(may) => {
            let kept = call.collections.join(", ");
            Err(caller.denied(Action::Write(&kept), "*"))
        }
        Needs::Act(action) if !caller.may_somewhere(action) => Err(caller.denied(action, "*")),
        _ => Ok(()),
    }
}

/// Every RPC with a row in the table of roles, by its path.
fn calls() -> HashMap<String, Call> {
    let methods = pool()
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>());
    let streaming: HashSet<_> = methods
        .filter(|m| m.is_client_streaming() || m.is_server_streaming())
        .map(|m| format!("/{}/{}", m.parent_service().full_name(), m.name()))
        .collect();
    let rows = matrix::RPCS.iter().map(|(rpc, needs)| {
        let path = matrix::path(rpc);
        let service = path.trim_start_matches('/').split('/').next();
        let package = service.and_then(|name| name.rsplit_once('.'));
        let call = Call {
            needs: *needs,
            collections: matrix::collections(package.map_or("", |(package, _)| package)),
            is_streaming: streaming.contains(&path) || OTHERS_STREAMS.contains(&path.as_str()),
        };
        (path, call)
    });
    rows.collect()
}

async fn caller(guard: &Guard, headers: &HeaderMap) -> Result<Caller, Problem> {
    let bearer = headers
        .get(AUTHORIZATION)
        .and_then(|value| value.to_str().ok());
    let Some(key) = bearer.and_then(|value| value.strip_prefix("Bearer ")) else {
        let message = "no key came with the call: send it as 'authorization: Bearer obv_...'";
        return Err(Problem::new(Reason::NotAuthenticated, message));
    };
    guard
        .keys
        .refresh()
        .await
        .map_err(obvert_records::refusal)?;
    guard.keys.caller(key, now_ms())
}

fn refuse(problem: Problem) -> Response {
    Status::from(problem).into_http()
}

/// Time a caller allows, as the `grpc-timeout` header says it: digits and a unit.
fn grpc_timeout(headers: &HeaderMap) -> Option<Duration> {
    let text = headers.get("grpc-timeout")?.to_str().ok()?;
    let (digits, unit) = text.split_at_checked(text.len().checked_sub(1)?)?;
    let count: u64 = digits.parse().ok().filter(|_| digits.len() <= 8)?;
    match unit {
        "H" => count.checked_mul(3_600).map(Duration::from_secs),
        "M" => count.checked_mul(60).map(Duration::from_secs),
        "S" => Some(Duration::from_secs(count)),
        "m" => Some(Duration::from_millis(count)),
        "u" => Some(Duration::from_micros(count)),
        "n" => Some(Duration::from_nanos(count)),
        _ => None,
    }
}
