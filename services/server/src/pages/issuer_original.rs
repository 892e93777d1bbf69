//! The originals on an issuer's page, each with a content type that no browser runs as a program.

use axum::{
    extract::{Path, State},
    http::{HeaderValue, header},
    response::{IntoResponse, Response},
};
use obvert_ledger::unhex;
use obvert_project::papers::Shut;
use obvert_records::now_ms;

use super::{
    Pages,
    download::body,
    issuer::{ended, unkept},
};

/// How a file is sent: its declared type counts only if it is one of these.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shown {
    /// A picture of this type.
    Picture(&'static str),
    /// A document or text of this type, which a browser shows in a frame.
    Framed(&'static str),
    /// Anything else, which a browser only keeps.
    Kept,
}

impl Shown {
    /// How a file with this declared media type is sent.
    pub(super) fn of(media_type: &str) -> Self {
        match media_type {
            "image/png" => Self::Picture("image/png"),
            "image/jpeg" => Self::Picture("image/jpeg"),
            "application/pdf" => Self::Framed("application/pdf"),
            "text/plain" | "text/csv" => Self::Framed("text/plain; charset=utf-8"),
            _ => Self::Kept,
        }
    }

    pub(super) fn is_image(self) -> bool {
        matches!(self, Self::Picture(_))
    }

    pub(super) fn is_framed(self) -> bool {
        matches!(self, Self::Framed(_))
    }
}

/// One original of the paper that a link shows, counted from 1.
pub(crate) async fn original(
    State(pages): State<Pages>,
    Path((link, place)): Path<(String, usize)>,
) -> Response {
    let opened = match pages.doors.papers.open(&link, now_ms()).await {
        Ok(opened) => opened,
        Err(shut) => return ended(&pages, &shut),
    };
    let original = place
        .checked_sub(1)
        .and_then(|place| opened.paper.originals.get(place));
    let found = original.and_then(|original| Some((original, unhex(&original.file.sha256)?)));
    let Some((original, sha256)) = found else {
        return ended(&pages, &Shut::Unknown);
    };
    let (content_type, disposition) = match Shown::of(&original.file.media_type) {
        Shown::Picture(media_type) | Shown::Framed(media_type) => (media_type, "inline"),
        Shown::Kept => ("application/octet-stream", "attachment"),
    };
    let size = u64::try_from(original.file.size_bytes).unwrap_or_default();
    let fields = [
        (header::CONTENT_TYPE, content_type.to_owned()),
        (header::CONTENT_LENGTH, size.to_string()),
        (
            header::CONTENT_DISPOSITION,
            format!(
                "{disposition}; filename=\"{}\"",
                plain(&original.file.file_name)
            ),
        ),
    ];
    let mut answer = (fields, body(pages.ledger.clone(), sha256, 0, size)).into_response();
    let policy = "default-src 'none'; frame-ancestors 'self'; base-uri 'none'; form-action 'none'";
    answer.headers_mut().insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(policy),
    );
    unkept(answer)
}

/// A file's name in characters that a header takes as they are.
fn plain(file_name: &str) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() || "._-".contains(c) {
            c
        } else {
            '_'
        }
    };
    file_name.chars().map(plain).collect()
}
