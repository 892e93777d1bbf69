//! Random inputs, kept to where a liner is a thin ring.

use obvert_engineering::bending::OvalBending;
use obvert_engineering::buckling::RestrainedBuckling;
use obvert_engineering::section_demand::{ConstantsPath, DesignSection};
use obvert_engineering::soil_buckling::{OvalityPlace, SoilBuckling};
use obvert_engineering::wall_design::{HostCondition, WallDesign, WallInputs};
use proptest::prelude::{Just, Strategy, prop_oneof};

pub(crate) fn restrained() -> impl Strategy<Value = RestrainedBuckling> {
    (
        100.0..2000.0,
        0.001..0.3,
        2.0..14.0,
        1000.0..20_000.0,
        0.1..0.45,
        0.0..10.0,
        1.0..3.0,
    )
        .prop_map(
            |(diameter, pressure, enhancement, modulus, poisson, ovality, safety)| {
                RestrainedBuckling {
                    host_diameter_mm: diameter,
                    groundwater_pressure_mpa: pressure,
                    enhancement_factor: enhancement,
                    long_term_flexural_modulus_mpa: modulus,
                    poisson_ratio: poisson,
                    ovality_percent: ovality,
                    safety_factor: safety,
                }
            },
        )
}

pub(crate) fn bending() -> impl Strategy<Value = OvalBending> {
    (100.0..2000.0, 0.001..0.3, 20.0..400.0, 0.1..9.0, 1.0..2.4).prop_map(
        |(diameter, pressure, strength, ovality, safety)| OvalBending {
            host_diameter_mm: diameter,
            groundwater_pressure_mpa: pressure,
            long_term_flexural_strength_mpa: strength,
            ovality_percent: ovality,
            safety_factor: safety,
        },
    )
}

pub(crate) fn soil() -> impl Strategy<Value = SoilBuckling> {
    (
        100.0..2000.0,
        0.005..0.3,
        0.67..1.0,
        0.2..0.95,
        2.0..30.0,
        1000.0..20_000.0,
        0.0..10.0,
        1.0..3.0,
    )
        .prop_map(
            |(diameter, load, buoyancy, support, soil, modulus, ovality, safety)| SoilBuckling {
                host_diameter_mm: diameter,
                external_load_mpa: load,
                buoyancy_factor: buoyancy,
                elastic_support: support,
                soil_modulus_mpa: soil,
                long_term_flexural_modulus_mpa: modulus,
                ovality_percent: ovality,
                safety_factor: safety,
            },
        )
}

pub(crate) fn place() -> impl Strategy<Value = OvalityPlace> {
    prop_oneof![
        Just(OvalityPlace::InsideRoot),
        Just(OvalityPlace::BeforeRoot)
    ]
}

/// A section with water between crown and surface.
pub(crate) fn section() -> impl Strategy<Value = DesignSection> {
    (0.0..300.0, 0.5..12.0, 0.0..1.0, 0.0..0.05).prop_map(
        |(station_m, cover_m, share, live_load_mpa)| DesignSection {
            station_m,
            cover_m,
            // Two metres stand for the largest diameter, so that some heads end below the crown.
            groundwater_above_invert_m: 0.01 + share * cover_m + share * 2.0,
            live_load_mpa,
        },
    )
}

/// A fully deteriorated design on the SI path with one section.
pub(crate) fn design() -> impl Strategy<Value = WallDesign> {
    (
        (
            100.0..2000.0,
            0.1..9.0,
            4.0..10.0,
            2000.0..20_000.0,
            0.4..1.0,
        ),
        (20.0..400.0, 0.2..0.4, 1.2..2.4, 15.0..22.0, 2.0..20.0),
        section(),
    )
        .prop_map(|(pipe, liner, section)| WallDesign {
            constants: ConstantsPath::Si,
            ovality_place: OvalityPlace::InsideRoot,
            host_condition: HostCondition::FullyDeteriorated,
            inputs: WallInputs {
                host_diameter_mm: pipe.0,
                ovality_percent: pipe.1,
                enhancement_factor: pipe.2,
                short_term_flexural_modulus_mpa: pipe.3,
                long_term_flexural_modulus_mpa: pipe.3 * pipe.4,
                long_term_flexural_strength_mpa: liner.0,
                poisson_ratio: liner.1,
                safety_factor: liner.2,
                soil_unit_weight_kn_per_m3: liner.3,
                soil_modulus_mpa: liner.4,
            },
            sections: vec![section],
        })
}
