//! The page of a link that the office sends to who issued a paper: typed values beside the original,
//! and one answer. No key is needed; the link is the key, and it is used up by the answer.

use axum::{
    extract::{Form, Path, State},
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use obvert_project::papers::{Opened, Shut};
use obvert_proto::{
    dates::instant,
    project::v1::{PaperAnswer, Project},
};
use obvert_records::{names, now_ms};
use prost::Message;
use serde::{Deserialize, Serialize};

use super::{Pages, issuer_original::Shown, origin::refused_as_foreign};

/// The page shows originals of this server in frames, which no other page does.
const POLICY: &str = "default-src 'none'; style-src 'self'; img-src 'self'; frame-src 'self'; \
                      form-action 'self'; frame-ancestors 'none'; base-uri 'none'";

/// What the form sends.
#[derive(Deserialize)]
pub(crate) struct Answer {
    answer: String,
    #[serde(default)]
    remark: String,
}

#[derive(Serialize)]
struct Data {
    link: String,
    project: String,
    contract: String,
    contractor: String,
    issuer: String,
    kind: String,
    paper: String,
    expires: String,
    values: Vec<ValueRow>,
    originals: Vec<OriginalRow>,
}

#[derive(Serialize)]
struct ValueRow {
    label: String,
    value: String,
    unit: &'static str,
}

#[derive(Serialize)]
struct OriginalRow {
    place: usize,
    file_name: String,
    sha256: String,
    is_image: bool,
    is_framed: bool,
}

#[derive(Serialize)]
struct End {
    title: &'static str,
    message: String,
}

/// Shows the paper of a link that works.
pub(crate) async fn show(State(pages): State<Pages>, Path(link): Path<String>) -> Response {
    match pages.doors.papers.open(&link, now_ms()).await {
        Ok(opened) => {
            let data = data(&pages, link, &opened).await;
            let mut page = pages.page("issuer.html", &data);
            page.headers_mut().insert(
                header::CONTENT_SECURITY_POLICY,
                HeaderValue::from_static(POLICY),
            );
            unkept(page)
        }
        Err(shut) => ended(&pages, &shut),
    }
}

/// Takes the answer and uses up the link.
pub(crate) async fn answer(
    State(pages): State<Pages>,
    Path(link): Path<String>,
    uri: Uri,
    headers: HeaderMap,
    Form(sent): Form<Answer>,
) -> Response {
    if let Some(refused) = refused_as_foreign(&uri, &headers) {
        return refused;
    }
    let answer = match sent.answer.as_str() {
        "agrees" => PaperAnswer::Agrees,
        "differs" => PaperAnswer::Differs,
        _ => {
            let shut = Shut::Wrong("Nothing was chosen: go back and choose an answer.");
            return ended(&pages, &shut);
        }
    };
    let taken = pages
        .doors
        .papers
        .answer(&link, (answer, &sent.remark), now_ms());
    match taken.await {
        Ok(opened) => {
            let what = match answer {
                PaperAnswer::Differs => "differ from your original",
                _ => "equal your original",
            };
            let message = format!(
                "Your answer is on file: the typed values of {} {} {what}. This link is used up.",
                opened.paper.kind, opened.paper.called
            );
            let end = End {
                title: "Thank you",
                message,
            };
            unkept(pages.page("answered.html", &end))
        }
        Err(shut) => ended(&pages, &shut),
    }
}

/// The page of a link that opens nothing.
pub(super) fn ended(pages: &Pages, shut: &Shut) -> Response {
    let status = match shut {
        Shut::Unknown => StatusCode::NOT_FOUND,
        Shut::Expired | Shut::Revoked | Shut::Used | Shut::MovedOn => StatusCode::GONE,
        Shut::Wrong(_) => StatusCode::BAD_REQUEST,
        Shut::Failed(problem) => {
            tracing::error!(reason = ?problem.reason, message = %problem.message, "an issuer's page");
            StatusCode::SERVICE_UNAVAILABLE
        }
    };
    let end = End {
        title: "Nothing to answer here",
        message: shut.to_string(),
    };
    unkept((status, pages.page("answered.html", &end)).into_response())
}

/// A page that no cache keeps: its address opens the paper.
pub(super) fn unkept(mut page: Response) -> Response {
    page.headers_mut()
        .insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    page
}

async fn data(pages: &Pages, link: String, opened: &Opened) -> Data {
    let paper = &opened.paper;
    let project = names::parse(&opened.name).map_or("", |parts| parts.project);
    let home = names::join("", "projects", project);
    let stored = pages.ledger.get(home, 0).await.ok().flatten();
    let project = stored.and_then(|stored| Project::decode(stored.body).ok());
    let project = project.unwrap_or_default();
    let value = |value: &obvert_records::paper::Value| ValueRow {
        label: value.label.clone(),
        value: value.value.clone(),
        unit: value.unit,
    };
    let original = |(place, original): (usize, &obvert_project::papers::Original)| {
        let shown = Shown::of(&original.file.media_type);
        OriginalRow {
            place: place + 1,
            file_name: original.file.file_name.clone(),
            sha256: original.file.sha256.clone(),
            is_image: shown.is_image(),
            is_framed: shown.is_framed(),
        }
    };
    let expires = opened.link.expire_time.as_ref().and_then(instant);
    Data {
        link,
        project: project.title,
        contract: project.contract_number,
        contractor: project.contractor,
        issuer: opened.link.issuer.clone(),
        kind: paper.kind.clone(),
        paper: paper.called.clone(),
        expires: expires.map_or(String::new(), |t| {
            t.strftime("%Y-%m-%d %H:%M UTC").to_string()
        }),
        values: paper.values.iter().map(value).collect(),
        originals: paper.originals.iter().enumerate().map(original).collect(),
    }
}
