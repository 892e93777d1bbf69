//! The maker's tolerance for exactly this diameter, wall and light train.

use obvert_engineering::cure_log::Band;
use obvert_proto::{
    installation::v1::CureHeader,
    material::v1::{LinerOrder, MakerSheet, ToleranceBand},
};

/// How near two entered figures must lie to be the same key.
const SAME: f64 = 1e-6;

/// What was found of a band.
pub(super) enum Found {
    /// Exactly one band has the key; with its place in the sheet.
    Band(i32, Band),
    /// None, or several, have it; said in a sentence.
    NoBand(String),
    /// The key itself is not complete.
    NoKey(String),
}

/// Looks a band up by its exact key; never takes the next one.
pub(super) fn find(
    header: &CureHeader,
    order: Option<&LinerOrder>,
    sheet: Option<&MakerSheet>,
) -> Found {
    let (Some(order), Some(sheet)) = (order, sheet) else {
        return Found::NoBand("The liner's order names no maker's sheet: file it.".to_owned());
    };
    if header.lamp_count <= 0 || header.lamp_power_w <= 0.0 {
        return Found::NoKey(
            "The header has no lamp count or no lamp power, so no tolerance can be looked up: \
             file the log with both."
                .to_owned(),
        );
    }
    let wall_mm = order
        .wall
        .as_ref()
        .map_or(0.0, |wall| wall.wall_thickness_mm);
    let same = |a: f64, b: f64| (a - b).abs() <= SAME * b.abs();
    let has_key = |band: &&ToleranceBand| {
        same(band.nominal_diameter_mm, order.nominal_diameter_mm)
            && same(band.wall_class_mm, wall_mm)
            && band.lamp_count == header.lamp_count
            && same(band.lamp_power_w, header.lamp_power_w)
    };
    let key = format!(
        "{} mm, wall {wall_mm} mm, {} lamps of {} W",
        order.nominal_diameter_mm, header.lamp_count, header.lamp_power_w
    );
    let count = sheet.bands.iter().filter(has_key).count();
    match sheet
        .bands
        .iter()
        .zip(0_i32..)
        .find(|(band, _)| has_key(band))
    {
        Some((band, index)) if count == 1 => Found::Band(index, entered(band)),
        Some(_) => Found::NoBand(format!(
            "Sheet {} has {count} tolerances for {key}: ask the maker which holds.",
            sheet.sheet_revision
        )),
        None => Found::NoBand(format!(
            "Sheet {} has no tolerance for {key}: ask the maker for one; none is taken instead.",
            sheet.sheet_revision
        )),
    }
}

fn entered(band: &ToleranceBand) -> Band {
    let bar = |kpa: f64| kpa / 100.0;
    Band {
        speed_min_m_per_min: band.speed_min_m_per_min,
        speed_max_m_per_min: band.speed_max_m_per_min,
        pressure_min_bar_g: band.pressure_min_kpa.map(bar),
        pressure_max_bar_g: band.pressure_max_kpa.map(bar),
        wall_temperature_min_c: band.wall_temperature_min_celsius,
        wall_temperature_max_c: band.wall_temperature_max_celsius,
        reaction_temperature_c: None,
        lamps_least: u32::try_from(band.least_lamps_count).ok(),
        lamp_power_w: Some(band.lamp_power_w),
    }
}
