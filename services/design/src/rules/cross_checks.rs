//! Other published methods beside X1.1. They decide nothing.
//!
//! Both hold for a perfect, tight, circular liner: no gap, no pre-deformation. What they give is an
//! upper bound of what X1.1 may be trusted with.

use obvert_engineering::{
    encased_buckling::{EquivalentEnhancement, RigidEncasement},
    perfect_shape::PerfectShapeBuckling,
};
use obvert_proto::design::v1::{CrossCheck, WallInputs, WallResult};

/// Cross-checks of the wall that stands in the pipe where groundwater stands highest.
pub(super) fn cross_checks(inputs: &WallInputs, result: &WallResult) -> Vec<CrossCheck> {
    let pressures = result.section_loads.iter();
    let pressure = pressures
        .map(|l| l.groundwater_pressure_mpa)
        .fold(0.0, f64::max);
    let (diameter, wall) = (
        inputs.host_inside_diameter_mm,
        result.installed_wall_thickness_mm,
    );
    let modulus = result.long_term_flexural_modulus_mpa;
    let mean_diameter = diameter - wall;
    let glock = RigidEncasement {
        host_diameter_mm: diameter,
        wall_thickness_mm: wall,
        flexural_modulus_mpa: modulus,
        poisson_ratio: inputs.poisson_ratio,
    };
    let thepot = PerfectShapeBuckling {
        lobe_count: 1.0,
        perimeter_mm: std::f64::consts::PI * mean_diameter,
        lobe_radius_mm: mean_diameter / 2.0,
        wall_thickness_mm: wall,
        flexural_modulus_mpa: modulus,
        poisson_ratio: inputs.poisson_ratio,
    };
    let enhancement = EquivalentEnhancement {
        dimension_ratio: diameter / wall,
    };
    let asked = pressure * inputs.safety_factor;
    let water = "critical pressure of the perfect liner, beside P times N";
    let all = [
        (
            "Glock",
            glock.critical_pressure_mpa(),
            "MPa",
            asked,
            water,
            RigidEncasement::FORMULA.source,
        ),
        (
            "Thepot",
            thepot.critical_pressure_mpa(),
            "MPa",
            asked,
            water,
            PerfectShapeBuckling::FORMULA.source,
        ),
        (
            "Enhancement factor by Glock",
            enhancement.enhancement_factor(),
            "",
            inputs.enhancement_factor,
            "K that the perfect liner reaches at this DR, beside the K used",
            EquivalentEnhancement::FORMULA.source,
        ),
    ];
    let worked_out =
        all.into_iter()
            .filter_map(|(method, value, unit, with, comparison, source)| {
                Some(CrossCheck {
                    method: method.to_owned(),
                    value: value.ok()?,
                    unit: unit.to_owned(),
                    compared_with: with,
                    comparison: comparison.to_owned(),
                    source: source.to_owned(),
                })
            });
    worked_out.collect()
}
