//! The calculation sheet of a record, to read and to download.

use axum::{
    extract::{Path, State},
    http::{HeaderMap, header},
    response::{IntoResponse, Response},
};
use obvert_access::Action;
use obvert_proto::design::v1::{GetCalculationSheetRequest, SheetFormat};
use obvert_records::names;

use super::{Pages, Unshown};

/// Nothing but the style that stands inside the page.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; \
                      base-uri 'none'";

/// The sheet of a wall design as a page.
pub(crate) async fn page(
    State(pages): State<Pages>,
    Path((project, design)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let name = names::join(&project, "designs", &design);
    sheet(&pages, &headers, (&project, name), SheetFormat::Html).await
}

/// The sheet of a wall design as PDF.
pub(crate) async fn pdf(
    State(pages): State<Pages>,
    Path((project, design)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let name = names::join(&project, "designs", &design);
    sheet(&pages, &headers, (&project, name), SheetFormat::Pdf).await
}

/// The sheet of any record that has one, as a page.
pub(crate) async fn page_of_any(
    State(pages): State<Pages>,
    Path((project, collection, record)): Path<(String, String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let name = names::join(&project, &collection, &record);
    sheet(&pages, &headers, (&project, name), SheetFormat::Html).await
}

/// The sheet of any record that has one, as PDF.
pub(crate) async fn pdf_of_any(
    State(pages): State<Pages>,
    Path((project, collection, record)): Path<(String, String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let name = names::join(&project, &collection, &record);
    sheet(&pages, &headers, (&project, name), SheetFormat::Pdf).await
}

async fn sheet(
    pages: &Pages,
    headers: &HeaderMap,
    (project, name): (&str, String),
    format: SheetFormat,
) -> Result<Response, Unshown> {
    let caller = pages.caller(headers).await?;
    let may = caller.may(Action::ReadStatus, project);
    may.map_err(|problem| pages.unshown(problem))?;
    let request = GetCalculationSheetRequest {
        name,
        format: format.into(),
        ..GetCalculationSheetRequest::default()
    };
    let sheet = pages.doors.design.sheet(&caller, request).await;
    let sheet = sheet.map_err(|problem| pages.unshown(problem))?;
    let named = format!("inline; filename=\"{}\"", sheet.file_name);
    let fields = [
        (header::CONTENT_TYPE, sheet.media_type),
        (header::CONTENT_DISPOSITION, named),
    ];
    let mut response = (fields, sheet.data).into_response();
    if format == SheetFormat::Html {
        let policy = header::HeaderValue::from_static(POLICY);
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_SECURITY_POLICY, policy);
    }
    Ok(response)
}
