//! Tables of the sheet: sections, checks, sensitivity, cross-checks.

use obvert_proto::design::v1::{SectionLoads, Sensitivity, WallResult};
use obvert_typeset::{
    calculation_sheet::{CheckRow, CrossCheckRow, Section, SensitivityRow},
    figures::{Units, number, on, percent, plain},
    segment_sheet::{Figure, Mark, State},
};

use super::{inputs, steps::reached};

/// Loads at every section.
pub(super) fn sections(result: &WallResult, units: Units) -> Vec<Section> {
    let row = |loads: &SectionLoads| Section {
        station: units.length(loads.station_m),
        place: place(loads, result),
        cover: units.length(loads.cover_m),
        groundwater: groundwater(loads, units),
        live_load: units.load(loads.live_load_mpa),
        pressure: units.load(loads.groundwater_pressure_mpa),
        factors: format!(
            "R_w {}, B′ {}",
            number(loads.buoyancy_factor, 3),
            number(loads.elastic_support, 3)
        ),
        external_load: units.load(loads.external_load_mpa),
    };
    result.section_loads.iter().map(row).collect()
}

fn groundwater(loads: &SectionLoads, units: Units) -> Figure {
    if loads.groundwater_above_invert_m == 0.0 {
        return plain("none: dry pipe");
    }
    if loads.groundwater_above_crown_m > 0.0 {
        return on(
            units.length(loads.groundwater_above_crown_m),
            "above the crown",
        );
    }
    on(
        units.length(loads.groundwater_above_invert_m),
        "above the invert",
    )
}

/// Why a section's equations are written out; empty for one between.
pub(super) fn place(loads: &SectionLoads, result: &WallResult) -> String {
    let covers = || result.section_loads.iter().map(|other| other.cover_m);
    let mut words = Vec::new();
    if result.section_loads.len() == 1 {
        words.push("the only section");
    } else {
        if loads.cover_m == covers().fold(f64::INFINITY, f64::min) {
            words.push("shallowest");
        }
        if loads.cover_m == covers().fold(0.0, f64::max) {
            words.push("deepest");
        }
    }
    let governs = result.governing_check != WallResult::OWNER_MINIMUM;
    if governs && loads.station_m == result.governing_station_m {
        words.push("governing");
    }
    words.join(", ")
}

/// Wall that stands in the pipe; the wall to order in records from before it was worked out.
pub(super) fn installed_mm(result: &WallResult) -> f64 {
    let installed = result.installed_wall_thickness_mm;
    if installed > 0.0 {
        installed
    } else {
        result.order_wall_thickness_mm
    }
}

/// Heads of the four columns of a table of checks.
pub(super) fn head(names: [&str; 4]) -> Vec<String> {
    names.map(str::to_owned).to_vec()
}

/// Every check at every section beside the wall that the order leaves in the pipe.
pub(super) fn checks(result: &WallResult, units: Units) -> Vec<CheckRow> {
    let stands = installed_mm(result);
    let row = |check: &obvert_proto::design::v1::WallCheck| {
        let governs = check.equation == result.governing_check
            && check.station_m == result.governing_station_m;
        let (wall, state) = match check.wall_thickness_mm {
            Some(wall) => (units.wall(wall), reached(wall, stands)),
            None => {
                let state = State {
                    word: "does not apply".to_owned(),
                    mark: Mark::NotApplicable,
                };
                (plain(check.not_applicable_reason.clone()), state)
            }
        };
        let word = if governs {
            format!("{}, governs", state.word)
        } else {
            state.word
        };
        CheckRow {
            station: units.length(check.station_m),
            check: format!("{} {}", check.equation, check.title),
            wall,
            state: State { word, ..state },
        }
    };
    result.checks.iter().map(row).collect()
}

/// How the wall moves with each input, the strongest first.
pub(super) fn sensitivities(result: &WallResult, units: Units) -> Vec<SensitivityRow> {
    let change = |mm: Option<f64>| match mm {
        Some(mm) if mm.abs() < 0.000_5 => plain("no change"),
        Some(mm) => {
            let sign = if mm > 0.0 { "+" } else { "" };
            let figure = units.change(mm);
            Figure {
                text: format!("{sign}{}", figure.text),
                us_customary: figure.us_customary.map(|us| format!("{sign}{us}")),
                basis: None,
            }
        }
        None => plain("value not taken"),
    };
    let size = |s: &Sensitivity| {
        let of = |mm: Option<f64>| mm.unwrap_or_default().abs();
        of(s.wall_change_below_mm).max(of(s.wall_change_above_mm))
    };
    let mut all: Vec<&Sensitivity> = result.sensitivities.iter().collect();
    all.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let row = |s: &&Sensitivity| SensitivityRow {
        name: inputs::name(&s.field).to_owned(),
        step: step(s, units),
        below: change(s.wall_change_below_mm),
        above: change(s.wall_change_above_mm),
        provenance: inputs::standing(s.provenance()),
    };
    all.iter().map(row).collect()
}

fn step(sensitivity: &Sensitivity, units: Units) -> Figure {
    let (field, step) = (sensitivity.field.as_str(), sensitivity.step);
    match field {
        "ovality_percent" => plain(percent(step, 0)),
        "live_load_mpa" => units.load(step),
        "soil_unit_weight_kn_per_m3" => units.unit_weight(step),
        _ if field.ends_with("_mm") => units.wall(step),
        _ if field.ends_with("_mpa") => units.stress(step),
        _ if field.ends_with("_m") => units.length(step),
        _ => plain(number(step, 3)),
    }
}

/// Other methods beside the governing one.
pub(super) fn cross_checks(result: &WallResult, units: Units) -> Vec<CrossCheckRow> {
    let figure = |value: f64, unit: &str| {
        if unit == "MPa" {
            units.load(value)
        } else {
            plain(number(value, 2))
        }
    };
    let row = |check: &obvert_proto::design::v1::CrossCheck| CrossCheckRow {
        method: check.method.clone(),
        value: figure(check.value, &check.unit),
        compared_with: figure(check.compared_with, &check.unit),
        comparison: check.comparison.clone(),
        source: check.source.clone(),
    };
    result.cross_checks.iter().map(row).collect()
}
