//! The owner's own first page: facts in its order and under its labels.

use obvert_proto::project::v1::Segment;
use obvert_typeset::segment_sheet::{Figure, HeartCell, HeartRow, OwnerCover, ShownFact};

use super::{
    View,
    chain::{Chain, chains},
    cover::{diameter, nonconformances, revision_time, standing},
    heart::{dates, identity, thickness},
    statements::design_basis,
    verification::spaced,
};
use crate::{
    package::{
        figures::{on, plain},
        since,
        words::{self, counted},
    },
    plan::CoverFact,
};

/// The page, where the plan states one.
pub(super) fn owner_cover(view: &View<'_>) -> Option<OwnerCover> {
    let text = view.plan.package.cover.as_ref()?;
    let facts = text.facts.iter().map(|(fact, label)| ShownFact {
        label: label.clone(),
        values: values(view, *fact),
    });
    Some(OwnerCover {
        title: text.title.clone(),
        lines: text.lines.clone(),
        facts: facts.collect(),
        signed_by: text.signed_by.clone(),
    })
}

/// What is on file of a fact; what is not says so.
fn values(view: &View<'_>, fact: CoverFact) -> Vec<Figure> {
    let known = known(view, fact).into_iter();
    let mut values: Vec<_> = known.filter(|value| !value.text.is_empty()).collect();
    for value in &mut values {
        value.basis.take_if(|basis| basis.is_empty());
    }
    values.dedup();
    if values.is_empty() {
        values.push(plain("not recorded"));
    }
    values
}

fn known(view: &View<'_>, fact: CoverFact) -> Vec<Figure> {
    let (file, project) = (view.file, &view.file.project);
    let text = |text: &str| vec![plain(text)];
    let of_segment = |value: fn(&Segment) -> &str| {
        let segment = file.segment();
        segment.map_or(Vec::new(), |segment| vec![plain(value(segment))])
    };
    let length = |value: fn(&Segment) -> f64| {
        let segment = file.segment().into_iter();
        let lengths = segment.map(|segment| view.units.length(value(segment)));
        lengths.collect()
    };
    match fact {
        CoverFact::Project => text(&project.title),
        CoverFact::Contract => text(&project.contract_number),
        CoverFact::Owner => text(&project.owner),
        CoverFact::Contractor => text(&project.contractor),
        CoverFact::Laboratory => text(&project.laboratory),
        CoverFact::Segment => text(view.owner_segment_id()),
        CoverFact::SegmentRecord => text(file.segment_id()),
        CoverFact::UpstreamManhole => of_segment(|s| &s.upstream_manhole),
        CoverFact::DownstreamManhole => of_segment(|s| &s.downstream_manhole),
        CoverFact::Street => of_segment(|s| &s.location),
        CoverFact::HostPipe => of_segment(|s| &s.host_pipe_material),
        CoverFact::Diameter => vec![diameter(view)],
        CoverFact::LengthWallToWall => length(|s| s.length_wall_to_wall_m),
        CoverFact::LengthCentreToCentre => length(|s| s.length_centre_to_centre_m),
        CoverFact::Laterals => text(&counted(file.laterals.len(), "lateral", "laterals")),
        CoverFact::Liner => traced(view, identity, |row| row.certified),
        CoverFact::WallDesigned => wall(view, |row| row.design),
        CoverFact::WallOrdered => wall(view, |row| row.ordered),
        CoverFact::WallMeasured => wall(view, |row| row.measured),
        CoverFact::PullInTime => traced(view, dates, |row| row.installed),
        CoverFact::CureTime => traced(view, dates, |row| row.cure_log),
        CoverFact::ReportDate => traced(view, dates, |row| row.measured),
        CoverFact::AcceptanceTime => text(&acceptance(view)),
        CoverFact::State => text(&standing(view).word),
        CoverFact::Points => text(&words::standing(view.status)),
        CoverFact::Nonconformances => text(&nonconformances(view).0),
        CoverFact::Package => text(&since::issue_number(file).to_string()),
        CoverFact::ProjectRevision => text(&format!("@{}", file.revision)),
        CoverFact::RevisionTime => text(&revision_time(view)),
        CoverFact::Plan => text(&words::reference(view.status.plan.as_ref())),
        CoverFact::Signer => text(&spaced(view.signer[0])),
    }
}

/// A column of the table from design to pipe, for each liner.
fn traced(
    view: &View<'_>,
    row: fn(&View<'_>, &Chain<'_>) -> HeartRow,
    column: fn(HeartRow) -> Option<HeartCell>,
) -> Vec<Figure> {
    let chains = chains(view.file);
    let cells = chains.iter().filter_map(|chain| column(row(view, chain)));
    cells.map(|cell| cell.figure).collect()
}

/// A wall always says what it counts.
fn wall(view: &View<'_>, column: fn(HeartRow) -> Option<HeartCell>) -> Vec<Figure> {
    let basis = design_basis(view).word();
    let figures = traced(view, thickness, column).into_iter();
    let said = figures.map(|figure| match &figure.basis {
        None => on(figure, basis),
        Some(other) => {
            let both = format!("{other}; {basis} unless said");
            on(figure, both)
        }
    });
    said.collect()
}

/// When the final acceptance was released.
fn acceptance(view: &View<'_>) -> String {
    let accepts = |id: &str| {
        let point = view.plan.point(id);
        point.is_some_and(|point| point.evaluator == "final-acceptance")
    };
    let mut points = view.status.points.iter();
    let point = points.find(|point| accepts(&point.point));
    let time = point.and_then(|point| point.release_time.as_ref());
    view.time(time, "not yet")
}
