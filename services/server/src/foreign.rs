//! Answers that the libraries below the services make by themselves, put into the form of all others.

use axum::{
    body::Body,
    extract::Request,
    http::{HeaderValue, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use obvert_proto::{Problem, common::v1::Reason};
use tonic::{Code, Status};

/// Answers what is no gRPC call as a page that does not exist.
pub(crate) async fn only_calls(request: Request, next: Next) -> Response {
    let kind = request.headers().get(header::CONTENT_TYPE);
    let is_call = kind.is_some_and(|kind| kind.as_bytes().starts_with(b"application/grpc"));
    if is_call {
        return own(next.run(request).await);
    }
    (StatusCode::NOT_FOUND, "there is no such page\n").into_response()
}

/// Replaces a refusal that carries no reason: what a decoder says of its bytes is no help to a caller.
fn own(response: Response<Body>) -> Response {
    let headers = response.headers();
    let internal = HeaderValue::from_static("13");
    if headers.get("grpc-status") != Some(&internal)
        || headers.contains_key("grpc-status-details-bin")
    {
        return response;
    }
    let Some(status) = Status::from_header_map(headers).filter(|s| s.code() == Code::Internal)
    else {
        return response;
    };
    let problem = if status.message().contains("decode") {
        let message = "the request is no message of this RPC: write it by the schema, which \
                       reflection shows";
        Problem::new(Reason::FieldsInvalid, message)
    } else {
        Problem::new(Reason::Internal, status.message())
    };
    Status::from(problem).into_http()
}
