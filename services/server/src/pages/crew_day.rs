//! The office makes the key of a crew's day and shows it once, as a code that phones read.
//!
//! The code holds the address of the sign-in page with the key behind the "#": a browser keeps that
//! part to itself, so that the key stands in no log and no Referer. The page itself is an answer to
//! a form and is not kept.

use axum::{
    extract::{Form, Path, State, rejection::FormRejection},
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use jiff::{civil::Date, tz::TimeZone};
use obvert_access::Action;
use obvert_proto::{
    Problem,
    common::v1::{LocalDate, Reason, Write},
    dates::instant,
    project::v1::{CreateCrewKeyRequest, CreateCrewKeyResponse, Project},
};
use obvert_records::message_of;
use qrcode::{Color, QrCode};
use serde::{Deserialize, Serialize};

use super::{
    Pages, Unshown,
    views::{ProjectLink, existing},
};

/// What the form sends.
#[derive(Deserialize)]
pub(crate) struct Asked {
    crew: String,
    work_date: String,
    ends_at: String,
    #[serde(default)]
    ends_next_day: String,
}

#[derive(Default, Serialize)]
struct Data {
    principal: String,
    project: ProjectLink,
    message: String,
    work_date: String,
    key_id: String,
    expires: String,
    secret: String,
    /// Modules along one side of the code, with its quiet zone.
    side: usize,
    /// Outline of its dark modules; empty while there is no key.
    code: String,
}

/// The form, with today at the site filled in.
pub(crate) async fn form(
    State(pages): State<Pages>,
    Path(project): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let caller = pages.caller(&headers).await?;
    let shown = async {
        caller.may(Action::CrewDay, &project)?;
        let (zone, project) = site(&pages, project).await?;
        Ok(Data {
            principal: caller.principal.clone(),
            work_date: zone.to_datetime(jiff::Timestamp::now()).date().to_string(),
            project,
            ..Data::default()
        })
    };
    let data = shown.await.map_err(|problem| pages.unshown(problem))?;
    Ok(pages.page("crew_day.html", &data))
}

/// Makes the key and shows it.
pub(crate) async fn make(
    State(pages): State<Pages>,
    Path(project): Path<String>,
    uri: Uri,
    headers: HeaderMap,
    asked: Result<Form<Asked>, FormRejection>,
) -> Result<Response, Unshown> {
    let form = (&uri, &headers);
    let caller = pages.sender(form, Action::CrewDay, &project).await?;
    let Ok(Form(asked)) = asked else {
        return Ok((StatusCode::BAD_REQUEST, "the form is not whole").into_response());
    };
    let origin = headers
        .get(header::ORIGIN)
        .and_then(|value| value.to_str().ok());
    let address = origin.unwrap_or_default().to_owned();
    let request = CreateCrewKeyRequest {
        write: Some(Write {
            request_id: format!("crew-day-{}", jiff::Timestamp::now().as_nanosecond()),
            reason: "made on the page of the crew's day".to_owned(),
            ..Write::default()
        }),
        key_id: format!("{}-{}-{}", asked.crew.trim(), project, asked.work_date),
        project: project.clone(),
        work_date: asked
            .work_date
            .parse::<Date>()
            .ok()
            .map(LocalDate::from_civil),
        end_time_of_day: asked.ends_at.clone(),
        ends_next_day: !asked.ends_next_day.is_empty(),
    };
    let key_id = request.key_id.clone();
    let site = site(&pages, project).await;
    let (zone, project) = site.map_err(|problem| pages.unshown(problem))?;
    let mut data = Data {
        principal: caller.principal.clone(),
        project,
        work_date: asked.work_date,
        key_id,
        ..Data::default()
    };
    let shown = match pages.doors.access.crew_day(&caller, request).await {
        Ok(made) => show(&mut data, made, &address, &zone),
        Err(problem) => Err(problem),
    };
    match shown {
        Ok(()) => {}
        Err(problem) if problem.reason == Reason::NotAllowed => return Err(pages.unshown(problem)),
        Err(problem) => data.message = problem.to_string(),
    }
    let mut page = pages.page("crew_day.html", &data);
    if data.code.is_empty() {
        *page.status_mut() = StatusCode::BAD_REQUEST;
    }
    let fields = page.headers_mut();
    fields.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(page)
}

fn show(
    data: &mut Data,
    made: CreateCrewKeyResponse,
    address: &str,
    zone: &TimeZone,
) -> Result<(), Problem> {
    let url = format!("{address}{}", made.sign_in_path);
    let code = QrCode::new(url.as_bytes()).map_err(|error| {
        Problem::new(
            Reason::Internal,
            format!("the code could not be drawn: {error}"),
        )
    })?;
    (data.side, data.code) = drawn(&code);
    let expires = made.key.and_then(|key| key.expire_time);
    let expires = expires.as_ref().and_then(instant);
    data.expires = expires.map_or(String::new(), |time| {
        let local = zone.to_datetime(time);
        local.strftime("%Y-%m-%d %H:%M").to_string()
    });
    data.secret = made.secret;
    Ok(())
}

/// Side and dark modules of a code, as the outline of an SVG path with a quiet zone of 4 modules
/// (ISO/IEC 18004:2015, 6.3.8; from memory).
fn drawn(code: &QrCode) -> (usize, String) {
    const QUIET: usize = 4;
    let width = code.width();
    let dark = code.to_colors().into_iter().enumerate();
    let dark = dark.filter(|(_, color)| *color == Color::Dark);
    let square = |(place, _)| {
        let (x, y) = (place % width + QUIET, place / width + QUIET);
        format!("M{x} {y}h1v1h-1z")
    };
    (width + 2 * QUIET, dark.map(square).collect())
}

/// Time zone of the site, and the way back to its project.
async fn site(pages: &Pages, id: String) -> Result<(TimeZone, ProjectLink), Problem> {
    let stored = existing(pages, &format!("projects/{id}")).await?;
    let project: Project = message_of(&stored)?;
    let zone = TimeZone::get(&project.time_zone).unwrap_or(TimeZone::UTC);
    let title = project.title;
    Ok((zone, ProjectLink { id, title }))
}
