//! The first page.

use obvert_proto::{closeout::v1::PointState, common::v1::LengthBasis};
use obvert_typeset::segment_sheet::{Cover, Figure, Logo, Mark, State};

use super::{View, plan_states, plugin_sections::lacking, verification::spaced};
use crate::{
    package::{
        figures::on,
        originals, since,
        words::{self, counted, state},
    },
    plan::section_titles,
};

pub(super) fn cover(view: &View<'_>) -> Cover {
    let file = view.file;
    let project = &file.project;
    let segment = file.segment();
    let text = |value: fn(&obvert_proto::project::v1::Segment) -> &String| {
        segment.map_or(String::new(), |segment| value(segment).clone())
    };
    Cover {
        project_title: project.title.clone(),
        contract: project.contract_number.clone(),
        owner: project.owner.clone(),
        contractor: project.contractor.clone(),
        segment_id: file.segment_id().to_owned(),
        owner_segment_id: view.owner_segment_id().to_owned(),
        upstream_manhole: text(|segment| &segment.upstream_manhole),
        downstream_manhole: text(|segment| &segment.downstream_manhole),
        location: words::or(&text(|segment| &segment.location), "not recorded"),
        diameter: diameter(view),
        lengths: lengths(view),
        package_revision: since::issue_number(file).to_string(),
        project_revision: file.revision.to_string(),
        plan_revision: words::reference(view.status.plan.as_ref()),
        plan_filed: plan_states::judging(view),
        revision_time: revision_time(view),
        status: standing(view),
        status_lines: status_lines(view),
        signer_note: format!(
            "Signed with the key {}. {}",
            spaced(view.signer[0]),
            view.signer[1]
        ),
        notes: notes(view),
        owner_lines: project.cover_lines.clone(),
        logo: view.logo.map(|_| Logo {
            file: crate::package::logo::NAME.to_owned(),
            alt: format!("Logo of {}", project.owner),
        }),
    }
}

pub(super) fn diameter(view: &View<'_>) -> Figure {
    let Some(segment) = view.file.segment() else {
        return Figure::default();
    };
    let nominal = view.units.diameter(segment.nominal_diameter_mm);
    let readings = view
        .file
        .field_survey()
        .map_or(&[][..], |survey| survey.diameters.as_slice());
    if readings.is_empty() {
        return on(nominal, "nominal");
    }
    let least = readings
        .iter()
        .map(|r| r.min_diameter_mm)
        .fold(f64::INFINITY, f64::min);
    let most = readings
        .iter()
        .map(|r| r.max_diameter_mm)
        .fold(0.0, f64::max);
    on(
        nominal,
        format!(
            "nominal; host measured {}",
            view.units.diameters(least, most).text
        ),
    )
}

fn lengths(view: &View<'_>) -> Vec<Figure> {
    let Some(segment) = view.file.segment() else {
        return Vec::new();
    };
    vec![
        on(
            view.units.length(segment.length_wall_to_wall_m),
            "wall to wall",
        ),
        on(
            view.units.length(segment.length_centre_to_centre_m),
            "centre to centre",
        ),
    ]
}

pub(super) fn standing(view: &View<'_>) -> State {
    let points = &view.status.points;
    let varied = points
        .iter()
        .filter(|p| p.state() == PointState::Variance)
        .count();
    let held = points
        .iter()
        .filter(|p| !crate::PAST.contains(&p.state()))
        .count();
    match (view.status.accepted, varied) {
        (true, 0) => state("Accepted", Mark::Met),
        (true, _) => state(
            format!("Accepted with {}", counted(varied, "variance", "variances")),
            Mark::Varied,
        ),
        _ => state(
            format!("Held at {held} of {} points", points.len()),
            Mark::Open,
        ),
    }
}

fn status_lines(view: &View<'_>) -> Vec<State> {
    let points = &view.status.points;
    let count = |wanted: PointState| points.iter().filter(|p| p.state() == wanted).count();
    let line = |number: usize, words: &str, mark| {
        (number > 0).then(|| {
            state(
                format!("{} {words}", counted(number, "point", "points")),
                mark,
            )
        })
    };
    let signed = points
        .iter()
        .filter(|p| p.state() == PointState::Released && !p.release.is_empty());
    let signed = signed.count();
    let by_evidence = count(PointState::Released) - signed;
    let mut lines = vec![
        line(signed, "released by a role", Mark::Met),
        line(by_evidence, "released by their evidence alone", Mark::Met),
        line(
            count(PointState::Variance),
            "passed with a variance",
            Mark::Varied,
        ),
        line(
            count(PointState::NotApplicable),
            "not applicable, with the reason",
            Mark::NotApplicable,
        ),
        line(
            count(PointState::AwaitsRelease),
            "awaiting release",
            Mark::Open,
        ),
        line(count(PointState::Held), "held", Mark::Open),
    ];
    let (found, open) = nonconformances(view);
    let mark = if open == 0 { Mark::Met } else { Mark::Open };
    lines.push(Some(state(found, mark)));
    lines.into_iter().flatten().collect()
}

/// How many there are and how many are open, in words, and the latter as a number.
pub(super) fn nonconformances(view: &View<'_>) -> (String, usize) {
    let all = &view.file.nonconformances;
    let open = all.iter().filter(|n| n.close_time.is_none()).count();
    let found = match all.len() {
        0 => "No nonconformance".to_owned(),
        count => counted(count, "nonconformance", "nonconformances"),
    };
    let words = match open {
        0 if all.is_empty() => found,
        0 => format!("{found}, none open"),
        open => format!("{found}, {open} open"),
    };
    (words, open)
}

/// Time of the revision that the package shows.
pub(super) fn revision_time(view: &View<'_>) -> String {
    let (file, zone) = (view.file, &view.file.project.time_zone);
    format!("{} {zone}", file.local_time(file.commit_time_ms))
}

fn notes(view: &View<'_>) -> Vec<String> {
    let project = &view.file.project;
    let pay = match project.pay_length_basis() {
        LengthBasis::CentreToCentre => "centre to centre of manholes",
        LengthBasis::WallToWall => "wall to wall",
        LengthBasis::Unspecified => "not stated",
    };
    let units = if view.units.us {
        "SI figures are the record; US customary figures are rounded from them."
    } else {
        "Figures are in SI units."
    };
    let left_out = match view.plan.package.left_out.as_slice() {
        [] => None,
        sections => Some(format!(
            "The owner's plan leaves out of this document: {}. The records are in the data beside it.",
            section_titles(sections)
        )),
    };
    let mut notes = vec![issue(view)];
    notes.extend(plan_states::changed(view));
    notes.push(people(view));
    notes.extend(originals::kept_in_words(view.originals, view.terms));
    notes.extend([
        format!("Lengths for payment: {pay}. {units}"),
        format!(
            "Times are local, {}; a device's clock is corrected by its noted offset where two \
             times are compared.",
            project.time_zone
        ),
    ]);
    notes.extend(left_out);
    notes.extend(lacking(view));
    notes.extend(owner_cover(view));
    notes
}

/// That another page stands before this one, and what it lacks.
fn owner_cover(view: &View<'_>) -> Vec<String> {
    let Some(cover) = &view.plan.package.cover else {
        return Vec::new();
    };
    let mut said = "The page before this one is the owner's own, as its plan states it.".to_owned();
    if !cover.signed_by.is_empty() {
        said.push_str(
            " Its blank rows are signed by hand on a printed copy; nothing fills them in.",
        );
    }
    let mut notes = vec![said];
    if !view.logo_missing.is_empty() {
        notes.push(view.logo_missing.to_owned());
    }
    notes
}

/// Which package of the segment it is, and which it replaces.
fn issue(view: &View<'_>) -> String {
    let number = since::issue_number(view.file);
    match view.since {
        None => "First package of this segment.".to_owned(),
        Some(since) => format!(
            "Package {number} of this segment. It replaces the one of revision @{}; the section \
             \"Changes since the last package\" says what differs.",
            since.project_revision
        ),
    }
}

/// Whether it says who took part.
fn people(view: &View<'_>) -> String {
    if view.terms.with_people {
        return "This package says who took part and encloses originals about residents: pass it on \
                with care."
            .to_owned();
    }
    if view.redactions.is_empty() {
        return "No record here says who took part. Accounts of those who recorded and released are \
                kept."
            .to_owned();
    }
    let fields = counted(view.redactions.len(), "place", "places");
    format!(
        "Personal data is left out in {fields}, marked [left out] and listed in \
         data/redactions.json, with the enclosed originals that may name such a person: they are as \
         they were filed. Accounts of those who recorded and released are kept."
    )
}
