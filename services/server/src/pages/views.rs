//! What the pages show: projects, the segments of one, the points of one.

use axum::{
    extract::{Path, State},
    http::HeaderMap,
    response::Response,
};
use obvert_access::{Action, Caller};
use obvert_closeout::{FirstHeld, Moment, PAST, load_segment};
use obvert_ledger::{LedgerError, Stored};
use obvert_proto::{
    Problem,
    closeout::v1::{PointState, PointStatus, SegmentStatus},
    project::v1::{Project, Segment},
};
use obvert_records::{message_of, names, refusal};
use serde::Serialize;

use super::{
    Pages, Unshown,
    plan_rows::{PlanStateRow, plan_name, plan_state_rows},
    rows::{
        ListedRow, PackageRow, PointRow, ProjectRow, SegmentRow, listed_rows, package_row,
        point_rows, standing,
    },
    sheet_links::{SheetLink, sheet_links},
};

/// Records of a collection read at once.
const PAGE: usize = 500;
/// Feet in a metre.
const FEET: f64 = 1.0 / 0.3048;

/// Projects that the caller may see.
pub(crate) async fn projects(
    State(pages): State<Pages>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    #[derive(Serialize)]
    struct Data {
        principal: String,
        projects: Vec<ProjectRow>,
    }
    let caller = pages.caller(&headers).await?;
    let rows = project_rows(&pages, &caller)
        .await
        .map_err(|problem| pages.unshown(problem))?;
    Ok(pages.page(
        "projects.html",
        &Data {
            principal: caller.principal,
            projects: rows,
        },
    ))
}

async fn project_rows(pages: &Pages, caller: &Caller) -> Result<Vec<ProjectRow>, Problem> {
    let mut rows = Vec::new();
    for id in pages.ledger.projects().await.map_err(refusal)? {
        let stored = pages
            .ledger
            .get(format!("projects/{id}"), 0)
            .await
            .map_err(refusal)?;
        let Some(stored) = stored.filter(|_| caller.sees(&id)) else {
            continue;
        };
        let Project {
            title,
            owner,
            contractor,
            ..
        } = message_of(&stored)?;
        rows.push(ProjectRow {
            id,
            title,
            owner,
            contractor,
        });
    }
    Ok(rows)
}

/// Segments of one project, each with what holds it.
pub(crate) async fn project(
    State(pages): State<Pages>,
    Path(id): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    #[derive(Serialize)]
    struct Data {
        principal: String,
        project: ProjectRow,
        revision: i64,
        accepted_count: usize,
        segments: Vec<SegmentRow>,
        makes_crew_keys: bool,
        makes_packages: bool,
        /// Id of a build that the page's button begins.
        request: String,
    }
    let caller = pages.caller(&headers).await?;
    let shown = async {
        caller.may(Action::ReadStatus, &id)?;
        let stored = existing(&pages, &format!("projects/{id}")).await?;
        let Project {
            title,
            owner,
            contractor,
            ..
        } = message_of(&stored)?;
        let now = pages.doors.statuses.now(&id).await?;
        let mut segments = Vec::new();
        for stored in all(&pages, &id, "segments").await? {
            segments.push(segment_row(&pages, &stored, now).await?);
        }
        let accepted_count = segments
            .iter()
            .filter(|row| row.state == "accepted")
            .count();
        let project = ProjectRow {
            id: id.clone(),
            title,
            owner,
            contractor,
        };
        let principal = caller.principal.clone();
        Ok(Data {
            principal,
            project,
            revision: now.revision,
            accepted_count,
            segments,
            makes_crew_keys: caller.may(Action::CrewDay, &id).is_ok(),
            makes_packages: caller.may(Action::Assemble, &id).is_ok(),
            request: format!("page-{}", jiff::Timestamp::now().as_nanosecond()),
        })
    };
    let data = shown.await.map_err(|problem| pages.unshown(problem))?;
    Ok(pages.page("project.html", &data))
}

/// A project as a step of the path to a page.
#[derive(Default, Serialize)]
pub(super) struct ProjectLink {
    pub(super) id: String,
    pub(super) title: String,
}

/// Points of one segment with their findings, and its packages.
pub(crate) async fn segment(
    State(pages): State<Pages>,
    Path((project, id)): Path<(String, String)>,
    headers: HeaderMap,
) -> Result<Response, Unshown> {
    #[derive(Serialize)]
    struct Data {
        principal: String,
        project: ProjectLink,
        revision: i64,
        row: SegmentRow,
        standing: String,
        sheets: Vec<SheetLink>,
        points: Vec<PointRow>,
        evidence: Vec<ListedRow>,
        plan: String,
        plan_states: Vec<PlanStateRow>,
    }
    let caller = pages.caller(&headers).await?;
    let shown = async {
        caller.may(Action::ReadStatus, &project)?;
        let stored = existing(&pages, &names::join(&project, "segments", &id)).await?;
        let loaded = load_segment(&pages.ledger, &stored.name, 0).await?;
        let status = loaded.status();
        let row = row_of(&pages, &stored, &status).await?;
        let points = point_rows(&status, &loaded.plan);
        let principal = caller.principal.clone();
        Ok(Data {
            principal,
            project: ProjectLink {
                id: project.clone(),
                title: loaded.file.project.title.clone(),
            },
            revision: status.revision,
            row,
            standing: standing(&status),
            sheets: sheet_links(&project, &loaded)?,
            points,
            evidence: listed_rows(&status),
            plan: status.plan.as_ref().map_or(String::new(), plan_name),
            plan_states: plan_state_rows(&status, &loaded.file),
        })
    };
    let data = shown.await.map_err(|problem| pages.unshown(problem))?;
    Ok(pages.page("segment.html", &data))
}

async fn segment_row(pages: &Pages, stored: &Stored, now: Moment) -> Result<SegmentRow, Problem> {
    let status = pages.doors.statuses.kept_at(&stored.name, now).await?;
    row_of(pages, stored, &status).await
}

async fn row_of(
    pages: &Pages,
    stored: &Stored,
    status: &SegmentStatus,
) -> Result<SegmentRow, Problem> {
    let segment: Segment = message_of(stored)?;
    let first = FirstHeld::of(status).filter(|_| !status.accepted);
    let (state, shape) = match (status.accepted, first.as_ref().map(|first| first.state)) {
        (true, _) => ("accepted", "\u{25cf}"),
        (false, Some(PointState::AwaitsRelease)) => ("awaits release", "\u{25b2}"),
        (false, _) => ("held", "\u{25a0}"),
    };
    let past = |point: &&PointStatus| PAST.contains(&point.state());
    let packages = packages(pages, &stored.name).await?;
    Ok(SegmentRow {
        id: names::id_of(&stored.name).to_owned(),
        owner_segment_id: segment.owner_segment_id,
        manholes: format!(
            "{} to {}",
            segment.upstream_manhole, segment.downstream_manhole
        ),
        diameter: format!("{:.0} mm", segment.nominal_diameter_mm),
        length: format!(
            "{:.1} m ({:.0} ft)",
            segment.length_wall_to_wall_m,
            segment.length_wall_to_wall_m * FEET
        ),
        state,
        shape,
        past_count: status.points.iter().filter(past).count(),
        point_count: status.points.len(),
        held_by: first
            .as_ref()
            .map_or(String::new(), |first| first.title.clone()),
        because: first
            .as_ref()
            .map_or(String::new(), |first| first.reason.clone()),
        more_count: first.map_or(0, |first| first.more_count),
        packages,
    })
}

/// Packages of a segment, the latest first.
async fn packages(pages: &Pages, segment: &str) -> Result<Vec<PackageRow>, Problem> {
    let of = (segment.to_owned(), Some("packages".to_owned()));
    let page = pages
        .ledger
        .referrers(of.0, of.1, None, PAGE, 0)
        .await
        .map_err(refusal)?;
    let row = |stored: &Stored| Ok(package_row(stored, message_of(stored)?));
    let rows: Result<Vec<_>, Problem> = page.items.iter().map(row).collect();
    let mut rows = rows?;
    rows.sort_by_key(|row| std::cmp::Reverse(row.project_revision));
    Ok(rows)
}

pub(super) async fn existing(pages: &Pages, name: &str) -> Result<Stored, Problem> {
    let found = pages
        .ledger
        .get(name.to_owned(), 0)
        .await
        .map_err(refusal)?;
    found.ok_or_else(|| {
        refusal(LedgerError::NotFound {
            name: name.to_owned(),
        })
    })
}

pub(super) async fn all(
    pages: &Pages,
    project: &str,
    collection: &str,
) -> Result<Vec<Stored>, Problem> {
    let (mut found, mut after) = (Vec::new(), None);
    loop {
        let (project, collection) = (project.to_owned(), collection.to_owned());
        let page = pages
            .ledger
            .list(project, collection, after, PAGE, 0)
            .await
            .map_err(refusal)?;
        found.extend(page.items);
        after = page.next;
        if after.is_none() {
            return Ok(found);
        }
    }
}
