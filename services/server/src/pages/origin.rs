//! Where a form came from.

use axum::http::{HeaderMap, header};

/// Whether a form was sent from a page of this server. A browser always says where a form came from.
pub(super) fn same_origin(headers: &HeaderMap) -> bool {
    let text = |name| {
        headers
            .get(name)
            .and_then(|value: &header::HeaderValue| value.to_str().ok())
    };
    match (text(header::ORIGIN), text(header::HOST)) {
        (Some(origin), Some(host)) => origin
            .split_once("://")
            .is_some_and(|(_, origin_host)| origin_host == host),
        _ => false,
    }
}
