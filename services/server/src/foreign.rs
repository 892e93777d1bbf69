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
    let codes = ["11", "13"].map(HeaderValue::from_static);
    let code = headers.get("grpc-status");
    if !code.is_some_and(|code| codes.contains(code))
        || headers.contains_key("grpc-status-details-bin")
    {
        return response;
    }
    let Some(status) = Status::from_header_map(headers) else {
        return response;
    };
    let told = status.message();
    let problem = match status.code() {
        Code::OutOfRange if told.contains("message length too large") => {
            let (_, sizes) = told.split_once(": ").unwrap_or_default();
            let message = format!("the message is too large, {sizes}: send less at once");
            Problem::new(Reason::TooLarge, message)
        }
        Code::Internal if told.contains("decode") => {
            let message = "the request is no message of this RPC: write it by the schema, which \
                           reflection shows";
            Problem::new(Reason::FieldsInvalid, message)
        }
        Code::Internal => Problem::new(Reason::Internal, told),
        _ => return response,
    };
    Status::from(problem).into_http()
}
