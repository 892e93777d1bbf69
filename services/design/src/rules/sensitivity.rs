//! How the wall moves with each input, and which input that nobody measured moves it most.
//!
//! The wall is the one the checks ask for, before the owner's least wall, which would hide the
//! change. Steps are 10 percent of the value; ovality moves by 1 percent of the diameter, cover and
//! groundwater by 0.5 m. The steps are the program's own proposal.

use obvert_proto::{
    common::v1::{Finding, Provenance},
    design::v1::{GroundwaterRule, LiveLoadMethod, Sensitivity, WallInputs},
    rules::unit,
};

use super::engineering::{engineering, head_above_invert_m};
use crate::record::source_of;

/// Step of what has a scale, as a share of the value.
const SHARE: f64 = 0.1;
/// Step of the ovality.
const OVALITY_PERCENT: f64 = 1.0;
/// Step of cover and of groundwater.
const HEIGHT_M: f64 = 0.5;

type Part = fn(&mut WallInputs) -> &mut f64;

const SCALED: [(&str, Part); 9] = [
    ("host_inside_diameter_mm", |i| {
        &mut i.host_inside_diameter_mm
    }),
    ("short_term_flexural_modulus_mpa", |i| {
        &mut i.short_term_flexural_modulus_mpa
    }),
    ("modulus_retention_factor", |i| {
        &mut i.modulus_retention_factor
    }),
    ("long_term_flexural_strength_mpa", |i| {
        &mut i.long_term_flexural_strength_mpa
    }),
    ("poisson_ratio", |i| &mut i.poisson_ratio),
    ("safety_factor", |i| &mut i.safety_factor),
    ("enhancement_factor", |i| &mut i.enhancement_factor),
    ("soil_unit_weight_kn_per_m3", |i| {
        &mut i.soil_unit_weight_kn_per_m3
    }),
    ("soil_modulus_mpa", |i| &mut i.soil_modulus_mpa),
];

/// Change of the wall per step of each input, all others held.
pub(super) fn sensitivities(inputs: &WallInputs) -> Vec<Sensitivity> {
    let Some(wall) = wall_mm(inputs) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    let mut add = |field: &str, step: f64, moved: &dyn Fn(f64) -> Option<WallInputs>| {
        let change = |by: f64| Some(wall_mm(&moved(by)?)? - wall);
        found.push(Sensitivity {
            field: field.to_owned(),
            step,
            wall_change_below_mm: change(-step),
            wall_change_above_mm: change(step),
            provenance: source_of(inputs, field)
                .map_or(Provenance::Unspecified, |s| s.provenance())
                .into(),
        });
    };
    for (field, part) in SCALED {
        let moved = |by: f64| {
            let mut inputs = inputs.clone();
            *part(&mut inputs) += by;
            Some(inputs)
        };
        add(field, SHARE * *part(&mut inputs.clone()), &moved);
    }
    add("ovality_percent", OVALITY_PERCENT, &|by| {
        let mut inputs = inputs.clone();
        inputs.ovality_percent += by;
        Some(inputs)
    });
    add("cover_m", HEIGHT_M, &|by| deeper(inputs, by));
    add("groundwater_above_crown_m", HEIGHT_M, &|by| {
        wetter(inputs, by)
    });
    let entered = |load: Option<f64>| load.unwrap_or_default();
    let most = inputs
        .sections
        .iter()
        .map(|s| entered(s.live_load_mpa))
        .fold(0.0, f64::max);
    if inputs.live_load_method() == LiveLoadMethod::Entered && most > 0.0 {
        add("live_load_mpa", SHARE * most, &|by| {
            let mut inputs = inputs.clone();
            for section in &mut inputs.sections {
                section.live_load_mpa = section.live_load_mpa.map(|load| load * (1.0 + by / most));
            }
            Some(inputs)
        });
    }
    found
}

/// Chosen by the owner, not assumed for want of a measurement.
const CHOSEN: [&str; 1] = ["safety_factor"];

/// Names the input that nobody measured and that moves the wall most.
pub(super) fn hangs_on(sensitivities: &[Sensitivity]) -> Option<Finding> {
    let not_measured = sensitivities
        .iter()
        .filter(|s| s.provenance() != Provenance::Measured && !CHOSEN.contains(&s.field.as_str()));
    let most = not_measured.max_by(|a, b| change_mm(a).total_cmp(&change_mm(b)))?;
    let (field, step, change) = (&most.field, most.step, change_mm(most));
    let step_in_words = format!("{step:.4} {}", unit(field));
    let message = format!(
        "Of the inputs that nobody measured, the wall hangs most on {field} ({}): a step of {} \
         changes it by {change:.2} mm. Measure it, or let the owner settle it in writing.",
        most.provenance().word(),
        step_in_words.trim_end()
    );
    let facts = [("step", step), ("wall_change_mm", change)];
    Some(Finding::note("hangs-on-assumption", message, &facts)).filter(|_| change > 0.0)
}

/// Greatest change of either direction.
fn change_mm(sensitivity: &Sensitivity) -> f64 {
    let below = sensitivity.wall_change_below_mm.unwrap_or_default().abs();
    below.max(sensitivity.wall_change_above_mm.unwrap_or_default().abs())
}

fn wall_mm(inputs: &WallInputs) -> Option<f64> {
    let outcome = engineering(inputs).ok()?.evaluate().ok()?;
    Some(outcome.required_wall_thickness_mm().unwrap_or_default())
}

/// The whole segment with more cover; groundwater stays where its rule puts it.
fn deeper(inputs: &WallInputs, by_m: f64) -> Option<WallInputs> {
    let mut inputs = inputs.clone();
    for section in &mut inputs.sections {
        section.cover_m += by_m;
        if section.cover_m <= 0.0 {
            return None;
        }
    }
    Some(inputs)
}

/// The whole segment with groundwater higher, up to the ground.
fn wetter(inputs: &WallInputs, by_m: f64) -> Option<WallInputs> {
    let mut moved = inputs.clone();
    moved.set_groundwater_rule(GroundwaterRule::Entered);
    for (section, old) in moved.sections.iter_mut().zip(&inputs.sections) {
        let ground_m = old.cover_m + inputs.host_inside_diameter_mm / 1000.0;
        let head_m = head_above_invert_m(old, inputs).ok()? + by_m;
        section.groundwater_above_crown_m = 0.0;
        section.groundwater_above_invert_m = Some(head_m.min(ground_m));
        if head_m < 0.0 {
            return None;
        }
    }
    Some(moved)
}
