//! Download of an issued package, whole or from an offset, so that a broken download resumes.

use axum::{
    body::Body,
    extract::{Path, State},
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
};
use futures::stream;
use headers::{HeaderMapExt, Range};
use obvert_access::Action;
use obvert_ledger::{Ledger, LedgerError, unhex};
use obvert_proto::{Problem, closeout::v1::Package, common::v1::Reason};
use obvert_records::{names, refusal};
use prost::Message;

use super::{Pages, Unshown};
use crate::cut::{Tell, cut, key_ended};

/// Bytes read at once.
const CHUNK: u64 = 1 << 20;

/// Answers GET and HEAD of a package, with Range, If-Range and ETag.
pub(crate) async fn package(
    State(pages): State<Pages>,
    Path((project, package)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let caller = pages.caller(&headers).await?;
    let found = async {
        caller.may(Action::FetchPackage, &project)?;
        find(&pages.ledger, &project, &package).await
    };
    let found = found.await.map_err(|problem| pages.unshown(problem))?;
    let response = sent(&pages.ledger, found, &headers);
    let ended = key_ended(pages.keys.clone(), &caller);
    Ok(cut(response, ended, Tell::Break))
}

/// The bytes of a package that its reader may have, or the part of them that was asked for.
pub(super) fn sent(
    ledger: &Ledger,
    (package, sha256): (Package, [u8; 32]),
    headers: &HeaderMap,
) -> Response {
    let size = u64::try_from(package.size_bytes).unwrap_or_default();
    let etag = format!("\"{}\"", package.sha256);
    let same = headers
        .get(header::IF_RANGE)
        .is_none_or(|value| value.as_bytes() == etag.as_bytes());
    let range = headers.typed_get::<Range>().filter(|_| same);
    let common = [
        (header::CONTENT_TYPE, "application/zip".to_owned()),
        (header::ACCEPT_RANGES, "bytes".to_owned()),
        (header::ETAG, etag),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{}\"", package.file_name),
        ),
    ];
    let (status, start, end) = match range.map(|range| span(&range, size)) {
        None => (StatusCode::OK, 0, size),
        Some(Some((start, end))) => (StatusCode::PARTIAL_CONTENT, start, end),
        Some(None) => {
            let length = [(header::CONTENT_RANGE, format!("bytes */{size}"))];
            return (StatusCode::RANGE_NOT_SATISFIABLE, length).into_response();
        }
    };
    let mut response = (status, common, body(ledger.clone(), sha256, start, end)).into_response();
    let fields = response.headers_mut();
    fields.typed_insert(headers::ContentLength(end - start));
    if status == StatusCode::PARTIAL_CONTENT
        && let Ok(range) = headers::ContentRange::bytes(start..end, size)
    {
        fields.typed_insert(range);
    }
    response
}

/// A package of a project with the digest of its bytes.
pub(super) async fn find(
    ledger: &Ledger,
    project: &str,
    package: &str,
) -> Result<(Package, [u8; 32]), Problem> {
    let name = names::join(project, "packages", package.trim_end_matches(".zip"));
    let stored = ledger.get(name.clone(), 0).await.map_err(refusal)?;
    let stored = stored.ok_or_else(|| refusal(LedgerError::NotFound { name }))?;
    let broken = || Problem::new(Reason::StoreCorrupt, "the package's record cannot be read");
    let package = Package::decode(stored.body.as_ref()).map_err(|_| broken())?;
    let sha256 = unhex(&package.sha256).ok_or_else(broken)?;
    Ok((package, sha256))
}

/// First and one-past-last byte of the one range asked for.
fn span(range: &Range, size: u64) -> Option<(u64, u64)> {
    use std::ops::Bound;
    let mut ranges = range.satisfiable_ranges(size);
    let (from, to) = ranges.next()?;
    if ranges.next().is_some() {
        return None;
    }
    let start = match from {
        Bound::Included(start) => start,
        Bound::Excluded(start) => start + 1,
        Bound::Unbounded => 0,
    };
    let end = match to {
        Bound::Included(end) => (end + 1).min(size),
        Bound::Excluded(end) => end.min(size),
        Bound::Unbounded => size,
    };
    (start < end).then_some((start, end))
}

pub(super) fn body(ledger: Ledger, sha256: [u8; 32], start: u64, end: u64) -> Body {
    let parts = stream::try_unfold((ledger, start), move |(ledger, start)| async move {
        if start >= end {
            return Ok::<_, std::io::Error>(None);
        }
        let stop = (start + CHUNK).min(end);
        let part = ledger.blobs().read_range(sha256, start, stop).await;
        let part = part.map_err(|error| std::io::Error::other(error.to_string()))?;
        Ok(Some((part, (ledger, stop))))
    });
    Body::from_stream(parts)
}
