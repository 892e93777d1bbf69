//! Notes on a wall that was worked out. None of them holds anything: the engineer reads them.

use obvert_engineering::{
    encased_buckling::ENHANCEMENT_WARNING_BELOW_DIMENSION_RATIO as LEAST_DR,
    ovality::OVALITY_FOR_ANALYSIS_PERCENT, retention::RETENTION_FOR_TEST,
};
use obvert_proto::{
    common::v1::{Finding, Provenance},
    counted,
    design::v1::{GroundwaterRule, LiveLoadMethod, SectionLoads, WallInputs, WallResult},
};

use crate::record::{feet_and_metres, inputs_without_source};

/// How near two heights must stand to the ratio of foot and metre to be suspected, as a share.
pub(super) const RATIO_NEAR: f64 = 0.005;
/// Cover from which feet given as metres are suspected. Common practice, no source.
const DEEP_COVER_M: f64 = 10.0;
/// Circumferential stretch that one specification takes.
const STRETCH_PERCENT: f64 = 8.0;
/// Dimension ratio that is usually not exceeded without groundwater (from memory).
const DRY_RATIO: f64 = 100.0;

/// Notes on inputs and result.
pub(super) fn findings(inputs: &WallInputs, result: &WallResult) -> Vec<Finding> {
    let mut found = Vec::new();
    let ratio = inputs.host_inside_diameter_mm / result.installed_wall_thickness_mm;
    if ratio < LEAST_DR {
        found.push(Finding::note(
            "dimension-ratio-low",
            format!(
                "The dimension ratio is {ratio:.1}, below {LEAST_DR}: an enhancement factor of 7 \
                 is more than even a perfect tight liner reaches there (Glock, from memory); \
                 check the enhancement factor {}.",
                inputs.enhancement_factor
            ),
            &[("dimension_ratio", ratio)],
        ));
    }
    of_material(inputs, &mut found);
    of_sections(inputs, &result.section_loads, &mut found);
    of_result(inputs, result, &mut found);
    let without = inputs_without_source(inputs);
    if without > 0 {
        let inputs = counted(without, "input has", "inputs have");
        let message = format!("{inputs} no source; a design that is stored needs one for each.");
        found.push(Finding::note(
            "inputs-without-source",
            message,
            &[("input_count", without as f64)],
        ));
    }
    found
}

fn of_material(inputs: &WallInputs, found: &mut Vec<Finding>) {
    let modulus = inputs.short_term_flexural_modulus_mpa;
    let field = "short_term_flexural_modulus_mpa";
    let source = inputs.sources.iter().find(|source| source.field == field);
    if source.is_some_and(|source| source.provenance() != Provenance::Measured) {
        let message = format!(
            "The initial flexural modulus of {modulus:.0} MPa was not measured: samples of the \
             finished liner have to reach it."
        );
        found.push(Finding::note(
            "modulus-not-measured",
            message,
            &[(field, modulus)],
        ));
    }
    let retention = inputs.modulus_retention_factor;
    if retention > RETENTION_FOR_TEST {
        let message = format!(
            "The retention factor is {retention}, above {RETENTION_FOR_TEST}: have a long-term \
             test of 10 000 h by a third party at hand."
        );
        let facts = [("modulus_retention_factor", retention)];
        found.push(Finding::note("retention-needs-test", message, &facts));
    }
    let ovality = inputs.ovality_percent;
    if ovality > OVALITY_FOR_ANALYSIS_PERCENT {
        let message = format!(
            "The ovality is {ovality} percent, above {OVALITY_FOR_ANALYSIS_PERCENT}: German \
             practice asks for an analysis of its own."
        );
        found.push(Finding::note(
            "ovality-large",
            message,
            &[("ovality_percent", ovality)],
        ));
    }
    let method = inputs.live_load_method();
    if matches!(method, LiveLoadMethod::Hs20Table | LiveLoadMethod::E80Table) {
        let message = "The live load comes from a table that was set down from memory: compare it \
                       with the owner's table, or enter the load.";
        found.push(Finding::note(
            "live-load-from-memory",
            message.to_owned(),
            &[],
        ));
    }
}

fn of_sections(inputs: &WallInputs, loads: &[SectionLoads], found: &mut Vec<Finding>) {
    if loads.len() == 1 {
        let message = "Only one section is checked: give at least the shallowest and the deepest.";
        found.push(Finding::note("one-section", message.to_owned(), &[]));
    }
    for section in loads {
        let (station, cover) = (section.station_m, section.cover_m);
        let water = section.groundwater_above_crown_m;
        let facts = [
            ("station_m", station),
            ("cover_m", cover),
            ("groundwater_m", water),
        ];
        if section.groundwater_above_invert_m == 0.0 {
            let message = format!(
                "The pipe is taken as dry at station {station} m: X1.1 and X1.2 set no wall there."
            );
            found.push(Finding::note("groundwater-none", message, &facts));
        } else if water == 0.0 && is_entered(inputs) {
            let head = section.groundwater_above_invert_m;
            let message = format!(
                "Groundwater at station {station} m stands {head} m above the invert, not above \
                 the crown: leave it so only where that was found."
            );
            found.push(Finding::note("groundwater-at-crown", message, &facts));
        }
        if feet_and_metres(cover, water, RATIO_NEAR) {
            let message = format!(
                "Cover {cover} m and groundwater {water} m at station {station} m stand in the \
                 ratio of metre and foot: check the unit of both."
            );
            found.push(Finding::note("feet-and-metres", message, &facts));
        } else if cover > DEEP_COVER_M {
            let message = format!(
                "The cover at station {station} m is {cover} m, above {DEEP_COVER_M} m: check \
                 that it is not in feet."
            );
            found.push(Finding::note("cover-deep", message, &facts));
        }
    }
    let covers = || loads.iter().map(|s| s.cover_m);
    let least = covers().fold(f64::INFINITY, f64::min);
    let most = covers().fold(0.0, f64::max);
    if feet_and_metres(least, most, RATIO_NEAR) {
        let message = format!(
            "The covers {least} m and {most} m stand in the ratio of metre and foot: check the \
             unit of both."
        );
        found.push(Finding::note(
            "feet-and-metres",
            message,
            &[("least_m", least), ("most_m", most)],
        ));
    }
}

/// Stretch beyond what a specification takes, and a tube made too large.
fn of_tube(inputs: &WallInputs, found: &mut Vec<Finding>) {
    let order = inputs.order.unwrap_or_default();
    let Some(made) = order.made_diameter_mm else {
        return;
    };
    let host = inputs.host_inside_diameter_mm;
    let stretch = 100.0 * (host / made - 1.0);
    let facts = [("made_diameter_mm", made), ("stretch_percent", stretch)];
    if stretch > STRETCH_PERCENT {
        let message = format!(
            "The tube is stretched by {stretch:.1} percent, above the {STRETCH_PERCENT} percent that \
             one specification takes (Nashua NH 2019, section 02651): order one made for the host."
        );
        found.push(Finding::note("stretch-large", message, &facts));
    } else if stretch < 0.0 {
        let message = format!(
            "The tube is made for {made} mm and the host has {host} mm: it folds, and no thicker wall \
             is counted for that."
        );
        found.push(Finding::note("tube-folds", message, &facts));
    }
}

fn is_entered(inputs: &WallInputs) -> bool {
    matches!(
        inputs.groundwater_rule(),
        GroundwaterRule::Unspecified | GroundwaterRule::Entered
    )
}

/// Groundwater that nobody knows, a pipe that no check holds, and a deflection above the limit.
fn of_result(inputs: &WallInputs, result: &WallResult, found: &mut Vec<Finding>) {
    if !is_entered(inputs) {
        let rule = inputs.groundwater_rule().word();
        let message = format!(
            "Groundwater is {rule}, by a rule and not by a reading: have the owner confirm the rule."
        );
        found.push(Finding::note("groundwater-by-rule", message, &[]));
    }
    let ratio = inputs.host_inside_diameter_mm / result.installed_wall_thickness_mm;
    of_tube(inputs, found);
    let dry = |loads: &SectionLoads| loads.groundwater_above_invert_m == 0.0;
    if ratio > DRY_RATIO && result.section_loads.iter().any(dry) {
        let message = format!(
            "The dimension ratio is {ratio:.1} and a section is dry: {DRY_RATIO} is the usual limit \
             there (from memory); raise the owner's least wall."
        );
        found.push(Finding::note(
            "dry-dimension-ratio",
            message,
            &[("dimension_ratio", ratio)],
        ));
    }
    for check in &result.deflections {
        let (percent, most) = (check.deflection_percent, check.deflection_max_percent);
        if percent > most {
            let message = format!(
                "The deflection at station {} m is {percent:.2} percent, above the owner's {most} \
                 percent: order a thicker wall or have the backfill improved.",
                check.station_m
            );
            let facts = [
                ("deflection_percent", percent),
                ("deflection_max_percent", most),
            ];
            found.push(Finding::holding("deflection-above-limit", message, &facts));
        }
    }
}
