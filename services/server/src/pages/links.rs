//! The page of a link that an owner opens without a key: packages, each to download.
//!
//! A link that was altered, has expired or was revoked gets one plain page that does not say which.

use axum::{
    Extension,
    extract::{Path, State},
    http::{HeaderMap, StatusCode},
    response::{IntoResponse, Response},
};
use obvert_access::{Peer, log};
use obvert_ledger::Stored;
use obvert_project::links::OpenLink;
use obvert_proto::{Problem, closeout::v1::Package, dates::instant, project::v1::Project};
use obvert_records::{called, message_of, names, now_ms, refusal};
use serde::Serialize;

use super::{
    Pages, Unshown,
    download::{find, sent},
    rows::{PackageRow, package_row},
    views::{all, existing},
};
use crate::cut::{Tell, cut, link_ended};

#[derive(Serialize)]
struct Data {
    link: String,
    note: String,
    /// Title of the project.
    title: String,
    owner: String,
    contractor: String,
    expires: String,
    packages: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    segment: String,
    /// Whether a later package of the segment stands above it.
    replaced: bool,
    package: PackageRow,
}

/// Packages that a link opens.
pub(crate) async fn packages(
    State(pages): State<Pages>,
    Path(link): Path<String>,
) -> Result<Response, Unshown> {
    let shown = async {
        let Some(open) = pages.doors.links.open(&link, now_ms()).await? else {
            return Ok(None);
        };
        let project = existing(&pages, &format!("projects/{}", open.project)).await?;
        let Project {
            title,
            owner,
            contractor,
            ..
        } = message_of(&project)?;
        let packages = rows(&pages, &open).await?;
        let expires = open.link.expire_time.as_ref().and_then(instant);
        Ok(Some(Data {
            link: link.clone(),
            note: open.link.note,
            expires: expires.map_or(String::new(), |time| {
                time.strftime("%Y-%m-%d %H:%M UTC").to_string()
            }),
            title,
            owner,
            contractor,
            packages,
        }))
    };
    let data: Result<_, Problem> = shown.await;
    let data = data.map_err(|problem| pages.unshown(problem))?;
    Ok(data.map_or_else(|| closed(&pages), |data| pages.page("links.html", &data)))
}

/// One package of a link, under the name of the link in the access log.
pub(crate) async fn package(
    State(pages): State<Pages>,
    Path((link, package)): Path<(String, String)>,
    peer: Option<Extension<Peer>>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    let fetched = async {
        let open = pages.doors.links.open(&link, now_ms()).await?;
        let name = |open: &OpenLink| names::join(&open.project, "packages", &package);
        let Some(open) = open.filter(|open| open.opens(&name(open))) else {
            return Ok(None);
        };
        let Ok(found) = find(&pages.ledger, &open.project, &package).await else {
            return Ok(None);
        };
        let peer = peer.map_or(String::new(), |Extension(Peer(address))| {
            address.to_string()
        });
        let event = log::by_link(&open.principal, &name(&open), &peer, now_ms());
        pages.doors.log.opened(event).await?;
        Ok(Some(found))
    };
    let found: Result<_, Problem> = fetched.await;
    let found = found.map_err(|problem| pages.unshown(problem))?;
    let Some(found) = found else {
        return Ok(closed(&pages));
    };
    let response = sent(&pages.ledger, found, &headers);
    let ended = link_ended(pages.doors.links.clone(), link, pages.ledger.watch());
    Ok(cut(response, ended, Tell::Break))
}

/// Rows by segment, the latest package of each first.
async fn rows(pages: &Pages, open: &OpenLink) -> Result<Vec<Row>, Problem> {
    let mut rows: Vec<Row> = Vec::new();
    for stored in opened(pages, open).await? {
        let package: Package = message_of(&stored)?;
        let segment = pages.ledger.get(package.segment.clone(), 0).await;
        let segment = segment.map_err(refusal)?;
        rows.push(Row {
            segment: segment.map_or_else(|| names::number_of(&package.segment), |s| called(&s)),
            replaced: false,
            package: package_row(&stored, package),
        });
    }
    rows.sort_by(|a, b| {
        let later = b.package.project_revision.cmp(&a.package.project_revision);
        a.segment.cmp(&b.segment).then(later)
    });
    let mut above = String::new();
    for row in &mut rows {
        row.replaced = row.segment == above;
        above.clone_from(&row.segment);
    }
    Ok(rows)
}

/// Records of the packages that a link opens.
async fn opened(pages: &Pages, open: &OpenLink) -> Result<Vec<Stored>, Problem> {
    match names::parse(&open.link.target) {
        Some(parts) if parts.collection == "packages" => {
            Ok(vec![existing(pages, &open.link.target).await?])
        }
        _ => all(pages, &open.project, "packages").await,
    }
}

fn closed(pages: &Pages) -> Response {
    #[derive(Serialize)]
    struct Data {
        title: &'static str,
        message: &'static str,
    }
    let data = Data {
        title: "This link opens nothing",
        message: "It was not copied whole, has expired, or was ended: ask whoever sent it for another.",
    };
    (StatusCode::NOT_FOUND, pages.page("answered.html", &data)).into_response()
}
