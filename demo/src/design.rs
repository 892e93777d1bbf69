//! Wall designs, worked out by the formulas of the program itself, with a source for each input.

use std::io;

use jiff::civil::Date;
use obvert_engineering::{
    order_thickness::OrderThickness,
    section_demand::{ConstantsPath, DesignSection},
    soil_buckling::OvalityPlace,
    wall_design::{HostCondition, WallDesign, WallInputs},
};
use serde_json::{Value, json};

use crate::{
    folder::{Folder, Row, name},
    site::{Pipe, Site, metres},
    when::{later, local_date},
};

/// Initial flexural modulus that the invented maker declares, MPa.
pub(crate) const MODULUS_MPA: f64 = 9600.0;
/// Initial flexural strength that the invented maker declares, MPa.
pub(crate) const STRENGTH_MPA: f64 = 190.0;
/// Thinnest wall and step of walls that the invented maker makes, mm.
pub(crate) const GRID_MM: (f64, f64) = (3.0, 0.5);

const RETENTION: f64 = 0.5;
const LONG_STRENGTH_MPA: f64 = 95.0;
const OVALITY_PERCENT: f64 = 2.0;
const POISSON_RATIO: f64 = 0.3;
const SAFETY_FACTOR: f64 = 2.0;
const ENHANCEMENT: f64 = 7.0;
const SOIL_KN_PER_M3: f64 = 18.85;
const SOIL_MODULUS_MPA: f64 = 4.8;

/// Wall to order for a pipe under some groundwater above its crown.
pub(crate) fn order_wall_mm(pipe: &Pipe, water_m: f64) -> f64 {
    let (least, step) = GRID_MM;
    let required = engineering(pipe, water_m).evaluate().ok();
    let required = required.and_then(|outcome| outcome.required_wall_thickness_mm());
    let order = OrderThickness {
        required_wall_thickness_mm: required.unwrap_or(f64::NAN).max(least),
        minimum_wall_thickness_mm: least,
        wall_step_mm: step,
    };
    order.order_wall_thickness_mm().unwrap_or(f64::NAN)
}

fn engineering(pipe: &Pipe, water_m: f64) -> WallDesign {
    let bore_mm = pipe.mean_bore_mm();
    let section = |(station_m, cover_m): (f64, f64)| DesignSection {
        station_m,
        cover_m,
        groundwater_above_invert_m: water_m + bore_mm / 1000.0,
        live_load_mpa: 0.0,
    };
    WallDesign {
        constants: ConstantsPath::Si,
        ovality_place: OvalityPlace::InsideRoot,
        host_condition: HostCondition::FullyDeteriorated,
        inputs: WallInputs {
            host_diameter_mm: bore_mm,
            ovality_percent: OVALITY_PERCENT,
            enhancement_factor: ENHANCEMENT,
            short_term_flexural_modulus_mpa: MODULUS_MPA,
            long_term_flexural_modulus_mpa: MODULUS_MPA * RETENTION,
            long_term_flexural_strength_mpa: LONG_STRENGTH_MPA,
            poisson_ratio: POISSON_RATIO,
            safety_factor: SAFETY_FACTOR,
            soil_unit_weight_kn_per_m3: SOIL_KN_PER_M3,
            soil_modulus_mpa: SOIL_MODULUS_MPA,
        },
        sections: sections(pipe).into_iter().map(section).collect(),
    }
}

/// Station and cover at the shallowest and the deepest place.
fn sections(pipe: &Pipe) -> [(f64, f64); 2] {
    [
        (0.0, metres(pipe.cover_min_ft)),
        (pipe.wall_to_wall_m(), metres(pipe.cover_max_ft)),
    ]
}

/// Writes the first designs, and those that were issued again.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let first = site.pipes.iter().enumerate().map(|(place, pipe)| {
        let sealed = later(pipe.day(2, 3), place as i64 % 9);
        row(pipe, (&pipe.id, pipe.water_m), sealed)
    });
    folder.records("designs.jsonl", &first.collect::<Vec<_>>())?;
    let again = site.pipes.iter().filter_map(|pipe| {
        let (water_m, _) = pipe.reissued?;
        let in_time = pipe.mistake.is_none();
        let sealed = if in_time {
            pipe.day(2, 27)
        } else {
            pipe.day(4, 2)
        };
        Some(row(pipe, (&format!("{}-r1", pipe.id), water_m), sealed))
    });
    folder.records("designs-reissued.jsonl", &again.collect::<Vec<_>>())
}

fn row(pipe: &Pipe, (id, water_m): (&str, f64), sealed: Date) -> Row {
    let body = json!({
        "segment": name("segments", &pipe.id),
        "inputs": inputs(pipe, water_m),
        "sealedBy": "Engineer, invented licence NP-20417",
        "sealedDate": local_date(sealed),
        "fieldSurvey": name("fieldSurveys", &pipe.id),
    });
    Row {
        id: id.to_owned(),
        kind: "wallDesign",
        observed: None,
        body,
    }
}

fn inputs(pipe: &Pipe, water_m: f64) -> Value {
    let sections = sections(pipe).map(|(station_m, cover_m)| {
        json!({ "stationM": station_m, "coverM": cover_m, "groundwaterAboveCrownM": water_m })
    });
    json!({
        "hostCondition": "HOST_CONDITION_FULLY_DETERIORATED",
        "ovalityPlace": "OVALITY_PLACE_INSIDE_ROOT",
        "constants": "CONSTANTS_PATH_SI",
        "hostInsideDiameterMm": pipe.mean_bore_mm(),
        "ovalityPercent": OVALITY_PERCENT,
        "shortTermFlexuralModulusMpa": MODULUS_MPA,
        "modulusRetentionFactor": RETENTION,
        "longTermFlexuralStrengthMpa": LONG_STRENGTH_MPA,
        "shortTermFlexuralStrengthMpa": STRENGTH_MPA,
        "poissonRatio": POISSON_RATIO,
        "safetyFactor": SAFETY_FACTOR,
        "enhancementFactor": ENHANCEMENT,
        "soilUnitWeightKnPerM3": SOIL_KN_PER_M3,
        "soilModulusMpa": SOIL_MODULUS_MPA,
        "liveLoadMethod": "LIVE_LOAD_METHOD_NONE",
        "sections": sections,
        "thicknessBasis": "THICKNESS_BASIS_COMPOSITE",
        "ownerMinimumWallMm": GRID_MM.0,
        "wallStepMm": GRID_MM.1,
        "sources": sources(),
    })
}

fn sources() -> Vec<Value> {
    let survey = "field survey of this segment";
    let plan = "Marrowby Sanitary District, design sheet of the project (invented)";
    let sheet = "maker's sheet FG-25 (invented)";
    [
        ("host_condition", "ASSUMED", "CCTV of the winter, judged by the engineer"),
        ("host_inside_diameter_mm", "MEASURED", survey),
        ("ovality_percent", "OWNER_DEFAULT", plan),
        ("short_term_flexural_modulus_mpa", "MAKER_DECLARED", sheet),
        ("modulus_retention_factor", "OWNER_DEFAULT", plan),
        ("long_term_flexural_strength_mpa", "MAKER_DECLARED", sheet),
        ("short_term_flexural_strength_mpa", "MAKER_DECLARED", sheet),
        ("poisson_ratio", "ASSUMED", "common practice, no source"),
        ("safety_factor", "OWNER_DEFAULT", plan),
        ("enhancement_factor", "OWNER_DEFAULT", plan),
        ("soil_unit_weight_kn_per_m3", "ASSUMED", "common practice, no source"),
        ("soil_modulus_mpa", "ASSUMED", "trench backfill as found at two manholes"),
        ("live_load_method", "OWNER_DEFAULT", "rear easement without traffic"),
        ("cover_m", "MEASURED", survey),
        ("groundwater_above_crown_m", "MEASURED", "standpipes along the lane"),
        ("owner_minimum_wall_mm", "OWNER_DEFAULT", plan),
        ("wall_step_mm", "MAKER_DECLARED", sheet),
    ]
    .map(|(field, provenance, source)| {
        json!({ "field": field, "provenance": format!("PROVENANCE_{provenance}"), "source": source })
    })
    .into()
}
