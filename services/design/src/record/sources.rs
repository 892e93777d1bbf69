//! Where each input comes from: named once, named right, and none left out.

use obvert_proto::{
    Violation,
    design::v1::{InputSource, LiveLoadMethod, WallInputs},
};

/// Inputs whose source a design must state.
const WALL: [&str; 17] = [
    "host_condition",
    "host_inside_diameter_mm",
    "ovality_percent",
    "short_term_flexural_modulus_mpa",
    "modulus_retention_factor",
    "long_term_flexural_strength_mpa",
    "short_term_flexural_strength_mpa",
    "poisson_ratio",
    "safety_factor",
    "enhancement_factor",
    "soil_unit_weight_kn_per_m3",
    "soil_modulus_mpa",
    "live_load_method",
    "cover_m",
    GROUNDWATER[0],
    "owner_minimum_wall_mm",
    "wall_step_mm",
];

/// Names under which the source of the groundwater may stand.
pub(crate) const GROUNDWATER: [&str; 3] = [
    "groundwater_above_crown_m",
    "groundwater_above_invert_m",
    "groundwater_rule",
];

/// Load that only the entered method has.
const ENTERED_LOAD: &str = "live_load_mpa";

/// Inputs of a deflection.
const DEFLECTION: [&str; 5] = [
    "trench_width_m",
    "trench_friction_coefficient",
    "bedding_constant",
    "deflection_lag",
    "deflection_max_percent",
];

/// Inputs whose source may be stated: forms of the calculation, which are chosen and not measured.
const CHOSEN: [&str; 4] = ["ovality_place", "constants", "thickness_basis", "station_m"];

/// Diameters behind the ovality.
const DIAMETERS: [&str; 2] = ["host_diameter_max_mm", "host_diameter_min_mm"];

/// Inputs of an order.
const ORDER: [&str; 2] = ["order_tolerance_percent", "made_diameter_mm"];

/// Sources that name no input of a wall, or one named before.
pub(super) fn check(inputs: &WallInputs) -> Vec<Violation> {
    if inputs.sources.is_empty() {
        return Vec::new();
    }
    let known: Vec<&str> = WALL
        .into_iter()
        .chain(GROUNDWATER)
        .chain(DEFLECTION)
        .chain(ORDER)
        .chain(DIAMETERS)
        .chain(CHOSEN)
        .chain([ENTERED_LOAD])
        .collect();
    named_right(&inputs.sources, &known)
}

/// Inputs of a wall without a source, each as a violation.
pub(super) fn missing(inputs: &WallInputs) -> Vec<Violation> {
    left_out(&inputs.sources, &needed(inputs))
}

/// How many inputs of a wall have no source; nothing is written about them.
pub(super) fn missing_count(inputs: &WallInputs) -> usize {
    let needed = needed(inputs);
    let named = |field: &&&str| inputs.sources.iter().any(|source| source.field == **field);
    needed.len() - needed.iter().filter(named).count()
}

fn needed(inputs: &WallInputs) -> Vec<&'static str> {
    let entered = inputs.live_load_method() == LiveLoadMethod::Entered;
    let mut needed = WALL.to_vec();
    needed.extend(entered.then_some(ENTERED_LOAD));
    if inputs.deflection.is_some() {
        needed.extend(DEFLECTION);
    }
    if inputs.host_diameter_max_mm.is_some() {
        needed.extend(DIAMETERS);
    }
    if let Some(order) = &inputs.order {
        needed.push(ORDER[0]);
        needed.extend(order.made_diameter_mm.map(|_| ORDER[1]));
    }
    if source_of(inputs, GROUNDWATER[0]).is_some() {
        needed.retain(|field| *field != GROUNDWATER[0]);
    }
    needed
}

/// Source of an input of a wall; for groundwater under any of its names.
pub(crate) fn source_of<'a>(inputs: &'a WallInputs, field: &str) -> Option<&'a InputSource> {
    let names: &[&str] = if GROUNDWATER.contains(&field) {
        &GROUNDWATER
    } else {
        &[field]
    };
    let mut sources = inputs.sources.iter();
    sources.find(|source| names.contains(&source.field.as_str()))
}

/// Violations of sources that must name each of `needed` once and nothing else.
pub(super) fn of_each(sources: &[InputSource], needed: &[&str]) -> Vec<Violation> {
    let mut wrong = named_right(sources, needed);
    wrong.extend(left_out(sources, needed));
    wrong
}

fn named_right(sources: &[InputSource], known: &[&str]) -> Vec<Violation> {
    let mut wrong = Vec::new();
    for (index, source) in sources.iter().enumerate() {
        let field = source.field.as_str();
        let mut push = |part: &str, message: String| {
            wrong.push(Violation::new(format!("sources[{index}].{part}"), message));
        };
        if !known.contains(&field) {
            let message = format!("is \"{field}\", which is no input: write it as the schema does");
            push("field", message);
        } else if sources[..index].iter().any(|other| other.field == field) {
            let message = format!(
                "is \"{field}\", which an earlier source names: give each input one source"
            );
            push("field", message);
        }
        if source.record.is_empty() != (source.record_revision == 0) {
            let message = "and record stand together: give the record and the revision you read";
            push("record_revision", message.to_owned());
        }
    }
    wrong
}

fn left_out(sources: &[InputSource], needed: &[&str]) -> Vec<Violation> {
    let named = |field: &&&str| sources.iter().any(|source| source.field == **field);
    let say = |field: &&str| {
        let message = format!("has no entry for {field}: say where it comes from");
        Violation::new("sources", message)
    };
    needed
        .iter()
        .filter(|field| !named(field))
        .map(say)
        .collect()
}
