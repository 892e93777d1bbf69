//! Calculation sheets of a segment, as links of its page.

use obvert_closeout::Loaded;
use obvert_proto::{Problem, design::v1::AsBuiltCheck};
use obvert_records::{message_of, names};
use serde::Serialize;

/// One sheet: a page, and a PDF beside it.
#[derive(Serialize)]
pub(super) struct SheetLink {
    what: String,
    page: String,
    pdf: String,
}

/// Sheets of the wall designs, the one in force first, then of the checks beside them, then of what was installed.
pub(super) fn sheet_links(project: &str, loaded: &Loaded) -> Result<Vec<SheetLink>, Problem> {
    let file = &loaded.file;
    let mut designs: Vec<_> = file.designs.iter().collect();
    designs.sort_by_key(|design| std::cmp::Reverse(design.revision));
    let mut links = Vec::new();
    for (place, design) in designs.into_iter().enumerate() {
        let what = match place {
            0 => "Wall design",
            _ => "Earlier wall design",
        };
        links.push(link(project, what, "designs", design.id()));
    }
    for check in &file.hydraulic_checks {
        links.push(link(project, "Capacity", "hydraulicChecks", check.id()));
    }
    for design in &file.pressure_designs {
        let what = "Internal pressure";
        links.push(link(project, what, "pressureDesigns", design.id()));
    }
    for check in &file.pull_in_checks {
        links.push(link(project, "Pull-in", "pullInChecks", check.id()));
    }
    for name in as_built_checks(loaded)? {
        links.push(link(
            project,
            "Installed liner",
            "asBuiltChecks",
            names::id_of(name),
        ));
    }
    Ok(links)
}

/// Back-checks of this segment; no hold point reads them, so that the segment's file has none.
fn as_built_checks(loaded: &Loaded) -> Result<Vec<&str>, Problem> {
    let mut found = Vec::new();
    for stored in &loaded.gathered.records {
        let parts = names::parse(&stored.name);
        if parts.is_none_or(|parts| parts.collection != "asBuiltChecks") {
            continue;
        }
        let check: AsBuiltCheck = message_of(stored)?;
        if check.segment == loaded.file.name {
            found.push(stored.name.as_str());
        }
    }
    Ok(found)
}

fn link(project: &str, what: &str, collection: &str, id: &str) -> SheetLink {
    let page = match collection {
        "designs" => format!("/projects/{project}/designs/{id}"),
        _ => format!("/projects/{project}/sheets/{collection}/{id}"),
    };
    SheetLink {
        what: format!("{what} {}", names::number_of(id)),
        pdf: format!("{page}/calculation.pdf"),
        page,
    }
}
