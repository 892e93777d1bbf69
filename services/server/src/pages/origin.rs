//! Where a form came from.

use axum::{
    http::{HeaderMap, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};

/// Refusal of a form that was not sent from a page of this server.
pub(super) fn refused_as_foreign(uri: &Uri, headers: &HeaderMap) -> Option<Response> {
    (!same_origin(uri, headers)).then(refusal_of_foreign)
}

/// The same, where it is known to be foreign.
pub(super) fn refusal_of_foreign() -> Response {
    (StatusCode::FORBIDDEN, "the form came from another site").into_response()
}

/// Whether a form was sent from a page of this server. A browser always says where a form came from.
/// HTTP/2 names the server in the target of the request, HTTP/1.1 in a header.
pub(super) fn same_origin(uri: &Uri, headers: &HeaderMap) -> bool {
    let text = |name| {
        headers
            .get(name)
            .and_then(|value: &header::HeaderValue| value.to_str().ok())
    };
    let host = uri.authority().map(|authority| authority.as_str());
    match (text(header::ORIGIN), host.or(text(header::HOST))) {
        (Some(origin), Some(host)) => origin
            .split_once("://")
            .is_some_and(|(_, origin_host)| origin_host == host),
        _ => false,
    }
}
