//! Deflection of the wall that stands in the pipe, where the owner asks for it.

use obvert_engineering::{
    Problems,
    deflection::{Deflection, TrenchLoad},
};
use obvert_proto::design::v1::{DeflectionCheck, WallInputs, WallResult};

/// Deflection at every section; empty where the owner does not ask.
pub(super) fn checks(
    inputs: &WallInputs,
    result: &WallResult,
) -> Result<Vec<DeflectionCheck>, Problems> {
    let Some(asked) = &inputs.deflection else {
        return Ok(Vec::new());
    };
    let check = |loads: &obvert_proto::design::v1::SectionLoads| {
        let soil_load_mpa = TrenchLoad {
            cover_m: loads.cover_m,
            trench_width_m: asked.trench_width_m,
            soil_unit_weight_kn_per_m3: inputs.soil_unit_weight_kn_per_m3,
            friction_coefficient: asked.trench_friction_coefficient,
        }
        .soil_load_mpa()?;
        let deflection_percent = Deflection {
            soil_load_mpa,
            live_load_mpa: loads.live_load_mpa,
            bedding_constant: asked.bedding_constant,
            deflection_lag: asked.deflection_lag,
            short_term_flexural_modulus_mpa: inputs.short_term_flexural_modulus_mpa,
            dimension_ratio: inputs.host_inside_diameter_mm / result.installed_wall_thickness_mm,
            soil_modulus_mpa: inputs.soil_modulus_mpa,
        }
        .deflection_percent()?;
        Ok(DeflectionCheck {
            station_m: loads.station_m,
            soil_load_mpa,
            deflection_percent,
            deflection_max_percent: asked.deflection_max_percent,
            source: Deflection::FORMULA.source.to_owned(),
        })
    };
    result.section_loads.iter().map(check).collect()
}
