//! From the inputs on the wire to every check of `obvert_engineering`, and back.

use obvert_engineering::{
    OutOfRange, Problems,
    live_load::{HighwayLiveLoad, RailwayLiveLoad},
    order_thickness::OrderThickness,
    retention::LongTermModulus,
    section_demand as demand,
    soil_buckling::OvalityPlace as Place,
    units::{ft_from_m, mpa_from_psi},
    wall_design as wall,
};
use obvert_proto::{
    Violation,
    design::v1::{
        ConstantsPath, DesignSection, HostCondition, LiveLoadMethod, OvalityPlace, WallCheck,
        WallInputs, WallResult,
    },
};

use super::findings;

/// Governing check where the owner's least wall is the thickest.
pub(super) const OWNER_MINIMUM: &str = "owner-minimum";

/// Works out the wall: every check at every section, what governs, and what to order.
///
/// Groundwater counts from the crown on the wire. X1.1 and X1.2 take the head above the invert,
/// which is one diameter more; so water that stands at the crown still presses on the invert.
///
/// # Errors
///
/// Every input that the formulas do not take, by its field in the inputs.
pub(crate) fn wall_result(inputs: &WallInputs) -> Result<WallResult, Vec<Violation>> {
    let design = engineering(inputs)?;
    let outcome = design.evaluate().map_err(|found| violations(&found))?;
    let asked = outcome.required_wall_thickness_mm().unwrap_or_default();
    let required = asked.max(inputs.owner_minimum_wall_mm);
    let order = OrderThickness {
        required_wall_thickness_mm: required,
        minimum_wall_thickness_mm: inputs.owner_minimum_wall_mm,
        wall_step_mm: inputs.wall_step_mm,
    };
    let order = order
        .order_wall_thickness_mm()
        .map_err(|found| violations(&found))?;
    let governing = outcome
        .governing
        .filter(|_| asked > inputs.owner_minimum_wall_mm);
    let mut result = WallResult {
        checks: outcome
            .checks
            .iter()
            .map(|c| on_wire(c, design.ovality_place))
            .collect(),
        governing_check: governing
            .map_or(OWNER_MINIMUM, |g| g.check.equation())
            .to_owned(),
        governing_station_m: governing.map_or(0.0, |g| g.station_m),
        required_wall_thickness_mm: required,
        order_wall_thickness_mm: order,
        long_term_flexural_modulus_mpa: design.inputs.long_term_flexural_modulus_mpa,
        findings: Vec::new(),
    };
    result.findings = findings::findings(inputs, &result);
    Ok(result)
}

fn engineering(inputs: &WallInputs) -> Result<wall::WallDesign, Vec<Violation>> {
    let long_term = LongTermModulus {
        short_term_flexural_modulus_mpa: inputs.short_term_flexural_modulus_mpa,
        modulus_retention_factor: inputs.modulus_retention_factor,
    };
    let long_term = long_term.long_term_flexural_modulus_mpa();
    let mut wrong = long_term.as_ref().err().map(violations).unwrap_or_default();
    let mut sections = Vec::with_capacity(inputs.sections.len());
    for (index, section) in inputs.sections.iter().enumerate() {
        match live_load_mpa(section, inputs.live_load_method()) {
            Ok(live_load_mpa) => sections.push(demand::DesignSection {
                station_m: section.station_m,
                cover_m: section.cover_m,
                groundwater_above_invert_m: section.groundwater_above_crown_m
                    + inputs.host_inside_diameter_mm / 1000.0,
                live_load_mpa,
            }),
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
        constants: match inputs.constants() {
            ConstantsPath::Us => demand::ConstantsPath::Us,
            ConstantsPath::Si | ConstantsPath::Unspecified => demand::ConstantsPath::Si,
        },
        ovality_place: match inputs.ovality_place() {
            OvalityPlace::BeforeRoot => Place::BeforeRoot,
            OvalityPlace::InsideRoot | OvalityPlace::Unspecified => Place::InsideRoot,
        },
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

fn live_load_mpa(section: &DesignSection, method: LiveLoadMethod) -> Result<f64, Problems> {
    let cover_ft = ft_from_m(section.cover_m);
    match method {
        LiveLoadMethod::Hs20Table => HighwayLiveLoad { cover_ft }
            .live_load_psi()
            .map(mpa_from_psi),
        LiveLoadMethod::E80Table => RailwayLiveLoad { cover_ft }
            .live_load_psi()
            .map(mpa_from_psi),
        _ => Ok(section.live_load_mpa.unwrap_or_default()),
    }
}

fn on_wire(checked: &wall::CheckedWall, place: Place) -> WallCheck {
    WallCheck {
        equation: checked.check.equation().to_owned(),
        title: checked.check.title().to_owned(),
        station_m: checked.station_m,
        wall_thickness_mm: checked.wall_thickness_mm,
        not_applicable_reason: checked.not_applicable_reason.unwrap_or_default().to_owned(),
        source: checked.check.source(place).to_owned(),
    }
}

/// What a formula does not take, by the schema's names of its inputs.
fn violations(problems: &Problems) -> Vec<Violation> {
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
