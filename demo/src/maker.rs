//! The sheet of the invented maker: walls, tolerance bands, shelf life. All figures are own.

use std::io;

use serde_json::{Value, json};

use crate::{
    design::{GRID_MM, MODULUS_MPA, STRENGTH_MPA},
    dice::rounded,
    folder::Folder,
    when::{day, local_date},
};

/// Id of the sheet's record.
pub(crate) const SHEET: &str = "fg-25";
/// Designation of the liner.
pub(crate) const DESIGNATION: &str = "FG-25 glass liner (invented)";
/// Days from making to the last day of installation.
pub(crate) const SHELF_LIFE_DAYS: i64 = 120;
/// Lamps of the light train.
pub(crate) const LAMPS: usize = 9;
/// Power of one lamp, W.
pub(crate) const LAMP_POWER_W: f64 = 500.0;
/// Distance between two lamps, m.
pub(crate) const LAMP_PITCH_M: f64 = 0.16;
/// Places of the infrared sensors behind the leading lamp, m.
pub(crate) const SENSOR_OFFSETS_M: [f64; 3] = [-0.25, 0.40, 1.75];

const DIAMETERS_IN: [f64; 4] = [8.0, 10.0, 12.0, 15.0];
const WALLS: usize = 8;

/// Limits of one wall in one diameter.
pub(crate) struct Band {
    pub(crate) speed_min_m_per_min: f64,
    pub(crate) speed_max_m_per_min: f64,
    pub(crate) pressure_min_kpa: f64,
    pub(crate) pressure_max_kpa: f64,
}

/// Band of a diameter and a wall.
pub(crate) fn band(diameter_in: f64, wall_mm: f64) -> Band {
    let speed_max = rounded(1.6 - 0.16 * wall_mm - 0.006 * (diameter_in - 8.0), 2);
    Band {
        speed_min_m_per_min: rounded(0.55 * speed_max, 2),
        speed_max_m_per_min: speed_max,
        pressure_min_kpa: rounded(52.0 - diameter_in, 0),
        pressure_max_kpa: rounded(74.0 - diameter_in, 0),
    }
}

/// Writes the sheet.
pub(crate) fn write(folder: &Folder) -> io::Result<()> {
    let (least, step) = GRID_MM;
    let bands: Vec<Value> = DIAMETERS_IN
        .into_iter()
        .flat_map(|inch| (0..WALLS).map(move |wall| (inch, least + step * wall as f64)))
        .map(|(inch, wall_mm)| {
            let band = band(inch, wall_mm);
            json!({
                "nominalDiameterMm": inch * 127.0 / 5.0,
                "wallClassMm": wall_mm,
                "lampCount": LAMPS,
                "lampPowerW": LAMP_POWER_W,
                "leastLampsCount": LAMPS - 1,
                "speedMinMPerMin": band.speed_min_m_per_min,
                "speedMaxMPerMin": band.speed_max_m_per_min,
                "pressureMinKpa": band.pressure_min_kpa,
                "pressureMaxKpa": band.pressure_max_kpa,
                "wallTemperatureMinCelsius": 80,
                "wallTemperatureMaxCelsius": 140,
            })
        })
        .collect();
    let sheet = json!({
        "maker": "Harrowmere Liners (invented)",
        "designation": DESIGNATION,
        "sheetRevision": "2025-01",
        "validFromDate": local_date(day(1, 2)),
        "shelfLifeDays": SHELF_LIFE_DAYS,
        "storageMinCelsius": 7,
        "storageMaxCelsius": 25,
        "thicknessBasis": "THICKNESS_BASIS_COMPOSITE",
        "leastWallMm": least,
        "wallStepMm": step,
        "shortTermFlexuralModulusMpa": MODULUS_MPA,
        "shortTermFlexuralStrengthMpa": STRENGTH_MPA,
        "fitsBelowNominalPercent": 4,
        "fitsAboveNominalPercent": 4,
        "elongationMaxPercent": 2,
        "bands": bands,
    });
    folder.record("maker-sheet.json", &sheet)
}
