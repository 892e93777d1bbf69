//! From the inputs on the wire to the structs of `obvert_engineering`.

use obvert_engineering::{
    OutOfRange, Problems,
    groundwater::{GroundwaterHead, GroundwaterRule as Rule},
    live_load::{HighwayLiveLoad, RailwayLiveLoad},
    retention::LongTermModulus,
    section_demand as demand,
    soil_buckling::OvalityPlace as Place,
    units::{M_PER_FT, ft_from_m, in_from_mm, mpa_from_psi},
    wall_design as wall,
    wheel_load::WheelLoad,
};
use obvert_proto::{
    Violation,
    design::v1::{
        ConstantsPath, DesignSection, GroundwaterRule, HostCondition, LiveLoadMethod, OvalityPlace,
        WallInputs,
    },
};

/// Depth below the surface that one owner prescribes where groundwater is unknown.
const BELOW_SURFACE: Rule = Rule::BelowSurface {
    depth_m: 3.0 * M_PER_FT,
};
/// Least head above the invert in German standard cases.
const ABOVE_INVERT: Rule = Rule::AboveInvert { head_m: 1.5 };
/// One wheel of an H-20 truck, and the length of pipe that bears it.
const H20_WHEEL: (f64, f64) = (16_000.0, 3.0);

/// Design as the formulas take it.
///
/// Groundwater counts from the crown on the wire, or from the invert where that is given. X1.1 and
/// X1.2 take the head above the invert, which is one diameter more than the one above the crown.
///
/// # Errors
///
/// Every input that the formulas do not take, by its field in the inputs.
pub(crate) fn engineering(inputs: &WallInputs) -> Result<wall::WallDesign, Vec<Violation>> {
    let long_term = LongTermModulus {
        short_term_flexural_modulus_mpa: inputs.short_term_flexural_modulus_mpa,
        modulus_retention_factor: inputs.modulus_retention_factor,
    };
    let long_term = long_term.long_term_flexural_modulus_mpa();
    let mut wrong = long_term.as_ref().err().map(violations).unwrap_or_default();
    let mut sections = Vec::with_capacity(inputs.sections.len());
    for (index, section) in inputs.sections.iter().enumerate() {
        let loads = head_above_invert_m(section, inputs)
            .and_then(|head_m| Ok((head_m, live_load_mpa(section, inputs)?)));
        match loads {
            Ok((groundwater_above_invert_m, live_load_mpa)) => {
                sections.push(demand::DesignSection {
                    station_m: section.station_m,
                    cover_m: section.cover_m,
                    groundwater_above_invert_m,
                    live_load_mpa,
                });
            }
            Err(found) => wrong.extend(violations(&found).into_iter().map(|v| {
                let message = v.message;
                Violation::new(format!("sections[{index}].cover_m"), message)
            })),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    Ok(wall::WallDesign {
        constants: constants(inputs),
        ovality_place: place(inputs),
        host_condition: match inputs.host_condition() {
            HostCondition::PartiallyDeteriorated => wall::HostCondition::PartiallyDeteriorated,
            _ => wall::HostCondition::FullyDeteriorated,
        },
        inputs: wall::WallInputs {
            host_diameter_mm: inputs.host_inside_diameter_mm,
            ovality_percent: inputs.ovality_percent,
            enhancement_factor: inputs.enhancement_factor,
            short_term_flexural_modulus_mpa: inputs.short_term_flexural_modulus_mpa,
            long_term_flexural_modulus_mpa: long_term.unwrap_or_default(),
            long_term_flexural_strength_mpa: inputs.long_term_flexural_strength_mpa,
            poisson_ratio: inputs.poisson_ratio,
            safety_factor: inputs.safety_factor,
            soil_unit_weight_kn_per_m3: inputs.soil_unit_weight_kn_per_m3,
            soil_modulus_mpa: inputs.soil_modulus_mpa,
        },
        sections,
    })
}

/// Groundwater above the invert at a section, by entry or by the rule.
pub(super) fn head_above_invert_m(
    section: &DesignSection,
    inputs: &WallInputs,
) -> Result<f64, Problems> {
    let diameter_m = inputs.host_inside_diameter_mm / 1000.0;
    let rule = match inputs.groundwater_rule() {
        GroundwaterRule::Unspecified | GroundwaterRule::Entered => {
            let above_crown_m = section.groundwater_above_crown_m + diameter_m;
            return Ok(section.groundwater_above_invert_m.unwrap_or(above_crown_m));
        }
        GroundwaterRule::Dry => return Ok(0.0),
        GroundwaterRule::AtSurface => Rule::AtSurface,
        GroundwaterRule::BelowSurface => BELOW_SURFACE,
        GroundwaterRule::AtCrown => Rule::AtCrown,
        GroundwaterRule::HalfCover => Rule::HalfCover,
        GroundwaterRule::AboveInvert => ABOVE_INVERT,
    };
    let head = GroundwaterHead {
        cover_m: section.cover_m,
        host_diameter_mm: inputs.host_inside_diameter_mm,
    };
    head.head_above_invert_m(rule)
}

fn live_load_mpa(section: &DesignSection, inputs: &WallInputs) -> Result<f64, Problems> {
    let cover_ft = ft_from_m(section.cover_m);
    match inputs.live_load_method() {
        LiveLoadMethod::Hs20Table => HighwayLiveLoad { cover_ft }
            .live_load_psi()
            .map(mpa_from_psi),
        LiveLoadMethod::E80Table => RailwayLiveLoad { cover_ft }
            .live_load_psi()
            .map(mpa_from_psi),
        LiveLoadMethod::H20Wheel => WheelLoad {
            wheel_load_lbf: H20_WHEEL.0,
            effective_length_ft: H20_WHEEL.1,
            host_diameter_in: in_from_mm(inputs.host_inside_diameter_mm),
            cover_ft,
        }
        .live_load_psi()
        .map(mpa_from_psi),
        _ => Ok(section.live_load_mpa.unwrap_or_default()),
    }
}

/// Constants of the equations, by the path that was entered.
pub(super) fn constants(inputs: &WallInputs) -> demand::ConstantsPath {
    match inputs.constants() {
        ConstantsPath::Us => demand::ConstantsPath::Us,
        ConstantsPath::Si | ConstantsPath::Unspecified => demand::ConstantsPath::Si,
    }
}

/// Place of the ovality factor in X1.3.
fn place(inputs: &WallInputs) -> Place {
    match inputs.ovality_place() {
        OvalityPlace::BeforeRoot => Place::BeforeRoot,
        OvalityPlace::InsideRoot | OvalityPlace::Unspecified => Place::InsideRoot,
    }
}

/// What a formula does not take, by the schema's names of its inputs.
pub(super) fn violations(problems: &Problems) -> Vec<Violation> {
    let names = [
        ("host_diameter_mm", "host_inside_diameter_mm"),
        ("groundwater_above_invert_m", "groundwater_above_crown_m"),
        ("minimum_wall_thickness_mm", "owner_minimum_wall_mm"),
        ("long_term_flexural_modulus_mpa", "modulus_retention_factor"),
    ];
    let translated = |problem: &OutOfRange| {
        let mut field = problem.field.clone();
        for (theirs, ours) in names {
            field = field.replace(theirs, ours);
        }
        Violation::new(field, problem.to_string())
    };
    problems.0.iter().map(translated).collect()
}
