//! # Holds
//! The order and everything after it, when the wall ordered is not the wall designed now.
//! # Why
//! A design re-issued after the order, with more groundwater say, leaves the order at the old wall.
//! # Released when
//! Every order in force counts its wall on the design's basis, orders no thinner wall than the
//! design asks for, and names the design in force at its newest revision, or at one whose
//! condition, diameter, wall, moduli and strengths are the same; that it is the same somebody
//! confirms, with one signed paper for as many designs as it names.
//! # Evidence
//! Liner order, wall design, document of the kind `design-revision-confirmation`.
//! # Parameters
//! `second_check`: whether a second role must have read the order against the design.
//! `confirmation`: whether an unchanged design that was issued again needs the paper; true when left
//! out.
//! # Source
//! Own rule: the ordered wall compares with the required one on the same definition only.

use obvert_proto::{
    common::v1::Thickness,
    design::v1::WallDesign,
    material::v1::{LinerOrder, OrderedSegment},
    project::v1::Document,
};

use super::{
    Evaluator, Judgement, Judging, Outcome, ParameterKind, evidence_present::papers, figure, found,
    words,
};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "ordered-wall",
    proves: "the wall ordered is the wall of the design in force",
    parameters: &[
        ParameterKind::flag(
            "second_check",
            "a second role must have read the order; false",
        ),
        ParameterKind::flag(
            "confirmation",
            "an unchanged design that was issued again is confirmed; true",
        ),
    ],
    limits: &[],
    evidence: &["liner-order", "wall-design", "document"],
    judge,
};

/// Kind of the paper by which a design that was issued again is confirmed.
const CONFIRMATION: &str = "design-revision-confirmation";

/// Keeps the rounding of binary fractions from failing a wall that equals the required one.
pub(super) const SLACK_MM: f64 = 1e-9;

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let design = judging.file.design();
    match design {
        Some(design) => j.uses(design),
        None => j.missing("wall-design", "the design of the wall", "file it"),
    }
    for order in orders(judging, &mut j) {
        let own = order
            .segments
            .iter()
            .find(|own| own.segment == judging.file.name);
        let Some(own) = own else {
            let message = format!(
                "order {} is not for {}: the liner of this segment was ordered for another",
                order.number(),
                judging.file.segment_number()
            );
            j.hold(found("order-of-other-segment", message).of(order.record()));
            continue;
        };
        if let Some(design) = design {
            wall(&mut j, order, design);
            current(judging, &mut j, order, own, design);
        }
        if judging.flag("second_check", false) && order.second_check_by.trim().is_empty() {
            let message = format!(
                "no second role has read order {} against the design: have it read and name the \
                 role",
                order.number()
            );
            j.hold(found("order-not-checked-twice", message).of(order.record()));
        }
    }
    j.outcome()
}

/// Orders in force, used as evidence; those that are named and not on file hold as missing.
pub(super) fn orders<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
) -> Vec<&'a Kept<LinerOrder>> {
    let file = judging.file;
    for liner in file.liner_names_in_force() {
        j.named(&file.liners, &liner, "liner");
    }
    let names = file.order_names_in_force();
    if names.is_empty() {
        j.missing(
            "liner-order",
            "the order of a liner for this segment",
            "order it and file the order",
        );
    }
    names
        .iter()
        .filter_map(|name| j.named(&file.orders, name, "order"))
        .collect()
}

fn wall(j: &mut Judgement<'_>, order: &Kept<LinerOrder>, design: &Kept<WallDesign>) {
    let both = [order.record(), design.record()];
    let wants = design
        .inputs
        .as_ref()
        .map(|inputs| inputs.thickness_basis())
        .unwrap_or_default();
    let (Some(wall), Some(result)) = (&order.wall, &design.result) else {
        let message =
            "the wall of the order or of the design is not stated: write the record again";
        j.hold(found("wall-not-stated", message).of_all(both));
        return;
    };
    let Thickness {
        wall_thickness_mm, ..
    } = *wall;
    // Designs from before the nominal wall was worked out hold none.
    let nominal = result.nominal_wall_thickness_mm;
    let required = result.required_wall_thickness_mm.max(nominal);
    j.fact(
        format!("{}.wall_thickness_mm", order.id()),
        wall_thickness_mm,
    );
    j.fact(format!("{}.basis", order.id()), wall.basis().word());
    j.fact("required_wall_thickness_mm", required);
    if wall.basis() != wants {
        let message = format!(
            "order {} counts {}, the design counts {}: the two are never compared, order on the \
             design's basis",
            order.number(),
            wall.basis().word(),
            wants.word()
        );
        j.hold(found("thickness-basis-differs", message).of_all(both));
    } else if wall_thickness_mm < required - SLACK_MM {
        let message = format!(
            "the wall of order {} is {} mm, the design of this segment requires {} mm: revise the \
             design or order a thicker liner",
            order.number(),
            figure(wall_thickness_mm),
            figure(required)
        );
        let found = found("ordered-wall-too-thin", message).of_all(both);
        j.hold(
            found
                .fact("wall_thickness_mm", wall_thickness_mm)
                .fact("required_mm", required),
        );
    }
}

fn current(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    order: &Kept<LinerOrder>,
    own: &OrderedSegment,
    design: &Kept<WallDesign>,
) {
    let is_current = own.design == design.name && own.design_revision == design.revision;
    if is_current {
        return;
    }
    let is_named =
        |old: &&Kept<WallDesign>| old.name == own.design && old.revision == own.design_revision;
    let old = judging
        .file
        .former_designs
        .iter()
        .chain(&judging.file.designs)
        .find(is_named);
    let named = format!(
        "{}@{}",
        obvert_records::names::id_of(&own.design),
        own.design_revision
    );
    let now = format!("{}@{}", design.id(), design.revision);
    let on = format!(
        "design {}, revision {}",
        judging.file.number_of(&own.design),
        own.design_revision
    );
    let in_force = format!("{}, revision {}", design.number(), design.revision);
    if old.is_some_and(|old| is_unchanged(old, design)) {
        let message = format!(
            "order {} names {on}, in force is {in_force}: what it orders is unchanged",
            order.number()
        );
        j.note(
            found("design-revised-unchanged", message)
                .of(order.record())
                .of(design.record()),
        );
        if judging.flag("confirmation", true) {
            confirmed(judging, j, order, design);
        }
        return;
    }
    let message = format!(
        "order {} rests on {on}; in force is {in_force}, with other values: check the order against \
         it and revise the order",
        order.number()
    );
    let found = found("order-on-old-design", message)
        .of(order.record())
        .of(design.record());
    j.hold(found.fact("ordered_on", named).fact("in_force", now));
}

/// A paper signed since the design was issued again says that the order stands.
fn confirmed(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    order: &Kept<LinerOrder>,
    design: &Kept<WallDesign>,
) {
    let issued = judging.file.local_date(design.commit_time_ms);
    let since = |paper: &Document| {
        let signed = words::date(paper.signed_date.as_ref());
        !paper.signed_by.trim().is_empty() && signed.is_some_and(|signed| signed >= issued)
    };
    let mut papers = papers(judging, CONFIRMATION, &design.name).into_iter();
    match papers.find(|paper| since(paper)) {
        Some(paper) => j.uses(paper),
        None => {
            let message = format!(
                "nobody confirmed since {issued} that order {} stands under design {}, revision {}: \
                 file one signed document of the kind {CONFIRMATION} that names every design it is \
                 about",
                order.number(),
                design.number(),
                design.revision
            );
            let found = found("design-revision-not-confirmed", message);
            j.hold(found.of(order.record()).of(design.record()));
        }
    }
}

/// Whether two states of a design ask for the same liner.
fn is_unchanged(old: &WallDesign, new: &WallDesign) -> bool {
    let key = |design: &WallDesign| {
        let inputs = design.inputs.as_ref()?;
        let result = design.result.as_ref()?;
        let figures = [
            inputs.host_inside_diameter_mm,
            inputs.short_term_flexural_modulus_mpa,
            inputs.modulus_retention_factor,
            inputs.short_term_flexural_strength_mpa,
            inputs.long_term_flexural_strength_mpa,
            result.required_wall_thickness_mm,
        ];
        Some((inputs.host_condition(), inputs.thickness_basis(), figures))
    };
    key(old).is_some_and(|old| Some(old) == key(new))
}
