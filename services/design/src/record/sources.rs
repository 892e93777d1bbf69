//! Where each input comes from: named once, named right, and none left out.

use obvert_proto::{
    Violation,
    design::v1::{LiveLoadMethod, WallInputs},
};

/// Inputs whose source a design must state.
const NEEDED: [&str; 17] = [
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
    "groundwater_above_crown_m",
    "owner_minimum_wall_mm",
    "wall_step_mm",
];

/// Load that only the entered method has.
const ENTERED_LOAD: &str = "live_load_mpa";

/// Inputs whose source may be stated: forms of the calculation, which are chosen and not measured.
const ALLOWED: [&str; 4] = ["ovality_place", "constants", "thickness_basis", "station_m"];

/// Sources that name no input, or one named before.
pub(super) fn check(inputs: &WallInputs) -> Vec<Violation> {
    let mut wrong = Vec::new();
    for (index, source) in inputs.sources.iter().enumerate() {
        let field = source.field.as_str();
        let known = NEEDED.contains(&field) || ALLOWED.contains(&field) || field == ENTERED_LOAD;
        let message = if !known {
            format!("is \"{field}\", which is no input: write it as the schema does")
        } else if inputs.sources[..index]
            .iter()
            .any(|other| other.field == field)
        {
            format!("is \"{field}\", which an earlier source names: give each input one source")
        } else {
            continue;
        };
        wrong.push(Violation::new(format!("sources[{index}].field"), message));
    }
    wrong
}

/// Inputs without a source, each as a violation.
pub(super) fn missing(inputs: &WallInputs) -> Vec<Violation> {
    let named = |field: &&&str| inputs.sources.iter().any(|source| source.field == **field);
    let entered = inputs.live_load_method() == LiveLoadMethod::Entered;
    let needed = NEEDED.iter().chain(entered.then_some(&ENTERED_LOAD));
    let without = needed.filter(|field| !named(field));
    let say = |field: &&str| {
        let message = format!("has no entry for {field}: say where it comes from");
        Violation::new("sources", message)
    };
    without.map(say).collect()
}
