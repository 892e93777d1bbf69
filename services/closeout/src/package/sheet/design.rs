//! Designs: inputs with where they come from, and the checks.

use obvert_proto::design::v1::{DesignSection, SectionLoads, WallCheck, WallDesign, WallInputs};
use obvert_typeset::segment_sheet::{Design, DesignCheck, DesignInput, Figure, Mark};

use super::View;
use crate::{
    package::{
        figures::{after, number, on, percent, plain},
        words::{self, state},
    },
    segment_file::Kept,
};

/// Designs of the segment, the newest first, then older states that an order names.
pub(super) fn designs(view: &View<'_>) -> Vec<Design> {
    let file = view.file;
    let former = file
        .former_designs
        .iter()
        .filter(|design| design.segment == file.name);
    let mut all: Vec<_> = file.designs.iter().chain(former).collect();
    all.sort_by(|a, b| {
        b.revision
            .cmp(&a.revision)
            .then_with(|| a.name.cmp(&b.name))
    });
    all.into_iter().map(|kept| design(view, kept)).collect()
}

fn design(view: &View<'_>, kept: &Kept<WallDesign>) -> Design {
    let inputs = kept.inputs.clone().unwrap_or_default();
    let loads = kept.result.as_ref().map_or(&[][..], |r| &r.section_loads);
    let condition = inputs.host_condition().word();
    let governs = kept.result.as_ref();
    let governs = governs.map_or(String::new(), |result| {
        format!("; {} governs", result.governed_by())
    });
    let standing = match view.file.design() {
        Some(valid) if valid.name == kept.name && valid.revision == kept.revision => {
            "Valid design."
        }
        _ => "Earlier design, kept as it was.",
    };
    let by = words::or(&kept.sealed_by, "nobody");
    Design {
        number: kept.number(),
        record: view.record(kept),
        summary: format!("{standing} Host pipe taken as {condition}{governs}."),
        engineer: match &kept.sealed_date {
            Some(date) => format!("Sealed by {by} on {}.", words::date(Some(date), "")),
            None => "No engineer has sealed it.".to_owned(),
        },
        inputs: rows(view, &inputs)
            .into_iter()
            .map(|(field, name, value)| DesignInput {
                name: name.to_owned(),
                value,
                provenance: source(&inputs, field),
            })
            .chain(sections(view, &inputs, loads))
            .collect(),
        checks: checks(view, kept),
    }
}

/// Where an input comes from, in words.
fn source(inputs: &WallInputs, field: &str) -> String {
    let source = inputs.sources.iter().find(|source| source.field == field);
    source.map_or("not said".to_owned(), |source| {
        let word = source.provenance().word();
        if source.source.is_empty() {
            word.to_owned()
        } else {
            format!("{word}: {}", source.source)
        }
    })
}

fn rows(view: &View<'_>, inputs: &WallInputs) -> Vec<(&'static str, &'static str, Figure)> {
    let mut rows = pipe_and_liner(view, inputs);
    rows.extend(ground_and_method(view, inputs));
    rows
}

fn pipe_and_liner(
    view: &View<'_>,
    inputs: &WallInputs,
) -> Vec<(&'static str, &'static str, Figure)> {
    let units = view.units;
    let ratio = |value: f64| plain(number(value, 2));
    let host = units.diameter(inputs.host_inside_diameter_mm);
    let ovality = plain(percent(inputs.ovality_percent, 1));
    let modulus = units.stress(inputs.short_term_flexural_modulus_mpa);
    let retention = ratio(inputs.modulus_retention_factor);
    let long_term = units.stress(inputs.long_term_flexural_strength_mpa);
    let initial = units.stress(inputs.short_term_flexural_strength_mpa);
    vec![
        ("host_inside_diameter_mm", "Mean inside diameter", host),
        ("ovality_percent", "Ovality", ovality),
        (
            "short_term_flexural_modulus_mpa",
            "Initial flexural modulus",
            modulus,
        ),
        (
            "modulus_retention_factor",
            "Modulus retention factor",
            retention,
        ),
        (
            "long_term_flexural_strength_mpa",
            "Long-term flexural strength",
            long_term,
        ),
        (
            "short_term_flexural_strength_mpa",
            "Initial flexural strength",
            initial,
        ),
        (
            "poisson_ratio",
            "Poisson's ratio",
            ratio(inputs.poisson_ratio),
        ),
        (
            "safety_factor",
            "Factor of safety",
            ratio(inputs.safety_factor),
        ),
        (
            "enhancement_factor",
            "Enhancement factor",
            ratio(inputs.enhancement_factor),
        ),
    ]
}

fn ground_and_method(
    view: &View<'_>,
    inputs: &WallInputs,
) -> Vec<(&'static str, &'static str, Figure)> {
    let units = view.units;
    let weight = units.unit_weight(inputs.soil_unit_weight_kn_per_m3);
    let soil = units.stress(inputs.soil_modulus_mpa);
    let place = plain(inputs.ovality_place().word());
    let basis = inputs.thickness_basis().word();
    let least = on(units.wall(inputs.owner_minimum_wall_mm), basis);
    vec![
        (
            "soil_unit_weight_kn_per_m3",
            "Unit weight of the soil",
            weight,
        ),
        ("soil_modulus_mpa", "Modulus of soil reaction", soil),
        (
            "live_load_method",
            "Live load",
            plain(inputs.live_load_method().word()),
        ),
        ("ovality_place", "Form of X1.3", place),
        (
            "constants",
            "Printed constants",
            plain(inputs.constants().word()),
        ),
        ("owner_minimum_wall_mm", "Owner's least wall", least),
        (
            "wall_step_mm",
            "Step of walls",
            units.wall(inputs.wall_step_mm),
        ),
    ]
}

/// Sections with the groundwater they were worked out with, by entry or by the owner's rule.
fn sections(view: &View<'_>, inputs: &WallInputs, loads: &[SectionLoads]) -> Vec<DesignInput> {
    let units = view.units;
    let row = |section: &DesignSection| {
        let found = loads.iter().find(|l| l.station_m == section.station_m);
        let water_m = found.map_or(section.groundwater_above_crown_m, |l| {
            l.groundwater_above_crown_m
        });
        let dry = found.is_some_and(|l| l.groundwater_above_invert_m == 0.0);
        let cover = units.length(section.cover_m);
        let water = units.length(water_m);
        let us = cover.us_customary.zip(water.us_customary);
        DesignInput {
            name: format!("Section at {}", units.length(section.station_m).text),
            value: Figure {
                text: format!("cover {}, groundwater {}", cover.text, water.text),
                us_customary: us
                    .map(|(cover, water)| format!("cover {cover}, groundwater {water}")),
                basis: Some(
                    if dry {
                        "above the crown; the pipe is dry"
                    } else {
                        "above the crown"
                    }
                    .to_owned(),
                ),
            },
            provenance: format!(
                "cover {}; groundwater {}",
                source(inputs, "cover_m"),
                water_source(inputs)
            ),
        }
    };
    inputs.sections.iter().map(row).collect()
}

fn water_source(inputs: &WallInputs) -> String {
    let fields = [
        "groundwater_above_crown_m",
        "groundwater_above_invert_m",
        "groundwater_rule",
    ];
    let named = fields
        .into_iter()
        .find(|field| inputs.sources.iter().any(|s| s.field == *field));
    source(inputs, named.unwrap_or(fields[0]))
}

/// Each check beside the wall that was ordered; before an order, beside the wall to order.
fn checks(view: &View<'_>, kept: &Kept<WallDesign>) -> Vec<DesignCheck> {
    let Some(result) = &kept.result else {
        return Vec::new();
    };
    let basis = kept
        .inputs
        .as_ref()
        .map(|inputs| inputs.thickness_basis())
        .unwrap_or_default();
    let orders = view.file.orders_in_force();
    let names_it = |o: &&&Kept<obvert_proto::material::v1::LinerOrder>| {
        o.segments.iter().any(|s| s.design == kept.name)
    };
    let ordered = orders
        .iter()
        .find(names_it)
        .and_then(|order| order.wall.as_ref());
    let (wall_mm, what) = match ordered {
        Some(wall) if wall.basis() == basis => (wall.wall_thickness_mm, "ordered"),
        Some(_) => (f64::NAN, "ordered on another basis"),
        None => (result.order_wall_thickness_mm, "to order"),
    };
    let several = result
        .checks
        .iter()
        .any(|check| check.station_m != result.governing_station_m);
    let mut rows: Vec<_> = result
        .checks
        .iter()
        .map(|c| check(view, c, (wall_mm, what), several))
        .collect();
    let required = result.required_wall_thickness_mm;
    rows.push(against(
        view,
        "Required wall with the owner's least wall",
        required,
        (wall_mm, what),
        "owner's least wall and all checks above",
    ));
    rows
}

fn check(view: &View<'_>, check: &WallCheck, wall: (f64, &str), several: bool) -> DesignCheck {
    let place = if several {
        format!(" at {}", view.units.length(check.station_m).text)
    } else {
        String::new()
    };
    let name = format!("{} {}{place}", check.equation, check.title);
    match check.wall_thickness_mm {
        Some(mm) => against(view, &name, mm, wall, &check.source),
        None => DesignCheck {
            name,
            value: plain("does not apply"),
            limit: plain(words::or(&check.not_applicable_reason, "no reason given")),
            source: check.source.clone(),
            state: state("not applicable", Mark::NotApplicable),
        },
    }
}

fn against(
    view: &View<'_>,
    name: &str,
    mm: f64,
    (wall_mm, what): (f64, &str),
    source: &str,
) -> DesignCheck {
    let met = mm <= wall_mm + 1e-9;
    DesignCheck {
        name: name.to_owned(),
        value: on(view.units.wall(mm), "wall asked for"),
        limit: on(after("at most", view.units.wall(wall_mm)), what),
        source: source.to_owned(),
        state: match (wall_mm.is_nan(), met) {
            (true, _) => state("not comparable", Mark::NotApplicable),
            (_, true) => state("met", Mark::Met),
            (_, false) => state("not met", Mark::Failed),
        },
    }
}
