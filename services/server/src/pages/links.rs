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
use obvert_proto::{Problem, closeout::v1::Package, dates::instant};
use obvert_records::{names, now_ms};
use serde::Serialize;

use super::{
    Pages, Unshown,
    download::{find, sent},
    rows::{PackageRow, package_row},
    views::{all, decoded, existing},
};
use crate::cut::{Tell, cut, link_ended};

#[derive(Serialize)]
struct Data {
    link: String,
    note: String,
    expires: String,
    packages: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    segment: String,
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
        let records = opened(&pages, &open).await?;
        let row = |stored: &Stored| {
            let package: Package = decoded(stored)?;
            Ok::<_, Problem>(Row {
                segment: names::id_of(&package.segment).to_owned(),
                package: package_row(stored, package),
            })
        };
        let rows: Result<Vec<_>, _> = records.iter().map(row).collect();
        let expires = open.link.expire_time.as_ref().and_then(instant);
        Ok(Some(Data {
            link: link.clone(),
            note: open.link.note,
            expires: expires.map_or(String::new(), |time| {
                time.strftime("%Y-%m-%d %H:%M UTC").to_string()
            }),
            packages: rows?,
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
