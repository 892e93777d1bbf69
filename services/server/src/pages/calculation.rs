//! The calculation sheet of a design, to read and to download.

use axum::{
    extract::{Path, State},
    http::{HeaderMap, header},
    response::{IntoResponse, Response},
};
use obvert_proto::design::v1::{GetCalculationSheetRequest, SheetFormat};
use obvert_records::names;

use super::{Pages, Unshown};

/// Nothing but the style that stands inside the page.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; \
                      base-uri 'none'";

/// The sheet as a page.
pub(crate) async fn page(
    State(pages): State<Pages>,
    Path((project, design)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let mut response = sheet(&pages, &headers, (&project, &design), SheetFormat::Html).await?;
    let policy = header::HeaderValue::from_static(POLICY);
    response
        .headers_mut()
        .insert(header::CONTENT_SECURITY_POLICY, policy);
    Ok(response)
}

/// The sheet as PDF.
pub(crate) async fn pdf(
    State(pages): State<Pages>,
    Path((project, design)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    sheet(&pages, &headers, (&project, &design), SheetFormat::Pdf).await
}

async fn sheet(
    pages: &Pages,
    headers: &HeaderMap,
    (project, design): (&str, &str),
    format: SheetFormat,
) -> Result<Response, Unshown> {
    let caller = pages.caller(headers).await?;
    let request = GetCalculationSheetRequest {
        name: names::join(project, "designs", design),
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
    Ok((fields, sheet.data).into_response())
}
