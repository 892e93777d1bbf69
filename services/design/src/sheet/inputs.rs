//! The table of inputs: name, symbol, value, standing and source.

use obvert_proto::{
    common::v1::Provenance,
    design::v1::{InputSource, WallInputs},
};
use obvert_typeset::{
    calculation_sheet::Input,
    figures::{Units, number, on, percent, plain},
    segment_sheet::{Figure, Mark, State},
};

use crate::record::source_of;

/// Name in words and symbol of each input, by its field.
const NAMES: [(&str, &str, &str); 29] = [
    ("host_condition", "State of the host pipe", ""),
    (
        "host_inside_diameter_mm",
        "Mean inside diameter of the host pipe",
        "D",
    ),
    (
        "host_diameter_max_mm",
        "Largest inside diameter measured",
        "D_max",
    ),
    (
        "host_diameter_min_mm",
        "Smallest inside diameter measured",
        "D_min",
    ),
    ("ovality_percent", "Ovality of the host pipe", "q"),
    (
        "short_term_flexural_modulus_mpa",
        "Initial flexural modulus",
        "E",
    ),
    ("modulus_retention_factor", "Modulus retention factor", "r"),
    (
        "long_term_flexural_strength_mpa",
        "Long-term flexural strength",
        "σ_L",
    ),
    (
        "short_term_flexural_strength_mpa",
        "Initial flexural strength",
        "",
    ),
    ("poisson_ratio", "Poisson's ratio", "ν"),
    ("safety_factor", "Factor of safety", "N"),
    ("enhancement_factor", "Enhancement factor", "K"),
    ("soil_unit_weight_kn_per_m3", "Unit weight of the soil", "w"),
    ("soil_modulus_mpa", "Modulus of soil reaction", "E′_s"),
    ("cover_m", "Cover over the crown", "H"),
    ("groundwater_above_crown_m", "Groundwater", "H_w"),
    ("live_load_method", "Live load, method", ""),
    ("live_load_mpa", "Live load, as entered", "W_s"),
    ("trench_width_m", "Width of the trench", "B_d"),
    (
        "trench_friction_coefficient",
        "Friction of trench fill and wall",
        "kμ′",
    ),
    ("bedding_constant", "Bedding constant", "K_b"),
    ("deflection_lag", "Deflection lag factor", "D_L"),
    ("deflection_max_percent", "Owner's greatest deflection", ""),
    ("owner_minimum_wall_mm", "Owner's least wall", ""),
    ("wall_step_mm", "Step of walls", ""),
    (
        "order_tolerance_percent",
        "Lower tolerance of the maker",
        "τ",
    ),
    ("made_diameter_mm", "Diameter the tube is made for", "D_m"),
    ("ovality_place", "Form of X1.3", ""),
    ("constants", "Printed constants", ""),
];

/// Name of an input in words.
pub(super) fn name(field: &str) -> &str {
    let named = NAMES.iter().find(|(key, ..)| *key == field);
    named.map_or(field, |(_, name, _)| name)
}

/// Every input of the design, in the order in which a reader asks for them.
pub(super) fn inputs(inputs: &WallInputs, units: Units) -> Vec<Input> {
    let row = |(field, name, symbol): (&str, &str, &str)| {
        Some(Input {
            name: name.to_owned(),
            symbol: symbol.to_owned(),
            value: value(inputs, field, units)?,
            provenance: provenance(inputs, field),
            source: source_of(inputs, field).map_or(String::new(), source),
        })
    };
    NAMES.into_iter().filter_map(row).collect()
}

/// Standing of an input: a filled disc for what was measured, an open square for what was assumed.
pub(super) fn standing(provenance: Provenance) -> State {
    let mark = match provenance {
        Provenance::Measured => Mark::Met,
        Provenance::Assumed | Provenance::Unspecified => Mark::Open,
        Provenance::OwnerDefault | Provenance::MakerDeclared => Mark::NotApplicable,
    };
    State {
        word: provenance.word().to_owned(),
        mark,
    }
}

/// An input of a check beside the wall, with its name in words and its symbol.
pub(super) fn input(
    sources: &[InputSource],
    (field, name, symbol): (&str, &str, &str),
    value: Figure,
) -> Input {
    let found = sources.iter().find(|source| source.field == field);
    let provenance = found.map_or(Provenance::Unspecified, |source| source.provenance());
    Input {
        name: name.to_owned(),
        symbol: symbol.to_owned(),
        value,
        provenance: standing(provenance),
        source: found.map_or(String::new(), source),
    }
}

fn provenance(inputs: &WallInputs, field: &str) -> State {
    match source_of(inputs, field) {
        Some(source) => standing(source.provenance()),
        None => State {
            word: "form of the calculation".to_owned(),
            mark: Mark::NotApplicable,
        },
    }
}

fn source(source: &InputSource) -> String {
    if source.record.is_empty() {
        return source.source.clone();
    }
    let short = source
        .record
        .splitn(3, '/')
        .nth(2)
        .unwrap_or(&source.record);
    let record = format!("{short}@{}", source.record_revision);
    if source.source.is_empty() {
        record
    } else {
        format!("{}, {record}", source.source)
    }
}

/// Value of a field; nothing where the design has none.
fn value(inputs: &WallInputs, field: &str, units: Units) -> Option<Figure> {
    let ratio = |value: f64| plain(number(value, 2));
    let of_deflection = inputs.deflection.as_ref();
    let of_order = inputs.order.as_ref();
    Some(match field {
        "host_condition" => plain(inputs.host_condition().word()),
        "host_inside_diameter_mm" => units.wall(inputs.host_inside_diameter_mm),
        "host_diameter_max_mm" => units.wall(inputs.host_diameter_max_mm?),
        "host_diameter_min_mm" => units.wall(inputs.host_diameter_min_mm?),
        "ovality_percent" => plain(percent(inputs.ovality_percent, 1)),
        "short_term_flexural_modulus_mpa" => units.stress(inputs.short_term_flexural_modulus_mpa),
        "modulus_retention_factor" => ratio(inputs.modulus_retention_factor),
        "long_term_flexural_strength_mpa" => units.stress(inputs.long_term_flexural_strength_mpa),
        "short_term_flexural_strength_mpa" => units.stress(inputs.short_term_flexural_strength_mpa),
        "poisson_ratio" => ratio(inputs.poisson_ratio),
        "safety_factor" => ratio(inputs.safety_factor),
        "enhancement_factor" => ratio(inputs.enhancement_factor),
        "soil_unit_weight_kn_per_m3" => units.unit_weight(inputs.soil_unit_weight_kn_per_m3),
        "soil_modulus_mpa" => units.stress(inputs.soil_modulus_mpa),
        "cover_m" => plain("see the sections"),
        "groundwater_above_crown_m" => plain(inputs.groundwater_rule().word()),
        "live_load_method" => plain(inputs.live_load_method().word()),
        "live_load_mpa" => {
            inputs
                .sections
                .iter()
                .find_map(|section| section.live_load_mpa)?;
            plain("see the sections")
        }
        "trench_width_m" => units.length(of_deflection?.trench_width_m),
        "trench_friction_coefficient" => ratio(of_deflection?.trench_friction_coefficient),
        "bedding_constant" => plain(number(of_deflection?.bedding_constant, 3)),
        "deflection_lag" => ratio(of_deflection?.deflection_lag),
        "deflection_max_percent" => plain(percent(of_deflection?.deflection_max_percent, 1)),
        "owner_minimum_wall_mm" => on(
            units.wall(inputs.owner_minimum_wall_mm),
            inputs.thickness_basis().word(),
        ),
        "wall_step_mm" => units.wall(inputs.wall_step_mm),
        "order_tolerance_percent" => plain(percent(of_order?.order_tolerance_percent, 1)),
        "made_diameter_mm" => units.wall(of_order?.made_diameter_mm?),
        "ovality_place" => plain(inputs.ovality_place().word()),
        "constants" => plain(inputs.constants().word()),
        _ => return None,
    })
}
