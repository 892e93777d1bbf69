//! What every call passes before its service: who calls, is there room, how long may it take.

use std::{collections::HashSet, sync::Arc, time::Duration};

use axum::{
    body::Body,
    extract::{Request, State},
    http::{HeaderMap, header::AUTHORIZATION},
    middleware::Next,
    response::Response,
};
use obvert_access::Keys;
use obvert_proto::{Problem, common::v1::Reason, pool};
use obvert_records::now_ms;
use tokio::sync::Semaphore;
use tonic::Status;

use crate::{Limits, idle::IdleBody};

/// State of the guard.
#[derive(Clone)]
pub(crate) struct Guard {
    keys: Keys,
    limits: Limits,
    room: Arc<Semaphore>,
    streaming: Arc<HashSet<String>>,
}

impl Guard {
    pub(crate) fn new(keys: Keys, limits: Limits) -> Self {
        let methods = pool()
            .services()
            .flat_map(|s| s.methods().collect::<Vec<_>>());
        let streaming = methods
            .filter(|m| m.is_client_streaming() || m.is_server_streaming())
            .map(|m| format!("/{}/{}", m.parent_service().full_name(), m.name()))
            .collect();
        let room = Arc::new(Semaphore::new(limits.calls));
        Self {
            keys,
            limits,
            room,
            streaming: Arc::new(streaming),
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
    let health = path.starts_with("/grpc.health.");
    let Ok(_place) = guard.room.try_acquire() else {
        let message = format!(
            "{} calls are under way, no more fit: try again",
            guard.limits.calls
        );
        return refuse(Problem::new(Reason::Overloaded, message));
    };
    match caller(&guard, request.headers()).await {
        Ok(caller) => {
            request.extensions_mut().insert(caller);
        }
        Err(_) if health => {}
        Err(problem) => return refuse(problem),
    }
    if guard.streaming.contains(&path) {
        let idle = guard.limits.stream_idle();
        return next
            .run(request.map(|body| Body::new(IdleBody::new(body, idle))))
            .await;
    }
    if path.starts_with("/grpc.") {
        return next.run(request).await;
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

async fn caller(guard: &Guard, headers: &HeaderMap) -> Result<obvert_access::Caller, Problem> {
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
