//! The schema's ranges of the inputs, read once and held against typed fields.
//!
//! Stored designs are checked through descriptors like every record. A wall that is only worked out
//! is asked for thousands of times a second, so its fields are read directly; the ranges are the
//! same ones.

use std::sync::LazyLock;

use obvert_proto::{
    Violation,
    common::v1::ThicknessBasis,
    design::v1::{
        ConstantsPath, DeflectionInputs, DesignSection, GroundwaterRule, HostCondition,
        LiveLoadMethod, OrderInputs, OvalityPlace, WallInputs,
    },
    pool,
    rules::{Rule, rule, unit},
};

type Number<T> = (&'static str, fn(&T) -> f64);

const INPUTS: [Number<WallInputs>; 15] = [
    ("host_inside_diameter_mm", |i| i.host_inside_diameter_mm),
    ("ovality_percent", |i| i.ovality_percent),
    ("short_term_flexural_modulus_mpa", |i| {
        i.short_term_flexural_modulus_mpa
    }),
    ("modulus_retention_factor", |i| i.modulus_retention_factor),
    ("long_term_flexural_strength_mpa", |i| {
        i.long_term_flexural_strength_mpa
    }),
    ("short_term_flexural_strength_mpa", |i| {
        i.short_term_flexural_strength_mpa
    }),
    ("poisson_ratio", |i| i.poisson_ratio),
    ("safety_factor", |i| i.safety_factor),
    ("enhancement_factor", |i| i.enhancement_factor),
    ("soil_unit_weight_kn_per_m3", |i| {
        i.soil_unit_weight_kn_per_m3
    }),
    ("soil_modulus_mpa", |i| i.soil_modulus_mpa),
    ("owner_minimum_wall_mm", |i| i.owner_minimum_wall_mm),
    ("wall_step_mm", |i| i.wall_step_mm),
    ("host_diameter_max_mm", |i| {
        i.host_diameter_max_mm.unwrap_or(ANY_DIAMETER_MM)
    }),
    ("host_diameter_min_mm", |i| {
        i.host_diameter_min_mm.unwrap_or(ANY_DIAMETER_MM)
    }),
];

const SECTION: [Number<DesignSection>; 5] = [
    ("station_m", |s| s.station_m),
    ("cover_m", |s| s.cover_m),
    ("groundwater_above_crown_m", |s| s.groundwater_above_crown_m),
    ("live_load_mpa", |s| s.live_load_mpa.unwrap_or_default()),
    ("groundwater_above_invert_m", |s| {
        s.groundwater_above_invert_m.unwrap_or_default()
    }),
];

const DEFLECTION: [Number<DeflectionInputs>; 5] = [
    ("trench_width_m", |d| d.trench_width_m),
    ("trench_friction_coefficient", |d| {
        d.trench_friction_coefficient
    }),
    ("bedding_constant", |d| d.bedding_constant),
    ("deflection_lag", |d| d.deflection_lag),
    ("deflection_max_percent", |d| d.deflection_max_percent),
];

const ORDER: [Number<OrderInputs>; 2] = [
    ("order_tolerance_percent", |o| o.order_tolerance_percent),
    ("made_diameter_mm", |o| {
        o.made_diameter_mm.unwrap_or(ANY_DIAMETER_MM)
    }),
];

/// Stands for a diameter that is not given: one within the range.
const ANY_DIAMETER_MM: f64 = 100.0;

/// Sections of one request at most.
const MOST_SECTIONS: usize = 1_000;

/// Every input outside the range that the schema states for it.
pub(super) fn check(inputs: &WallInputs) -> Vec<Violation> {
    static OF_INPUTS: LazyLock<Vec<&'static Rule>> =
        LazyLock::new(|| rules_of("obvert.design.v1.WallInputs", INPUTS.map(|(name, _)| name)));
    static OF_SECTION: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| {
        rules_of(
            "obvert.design.v1.DesignSection",
            SECTION.map(|(name, _)| name),
        )
    });
    static OF_DEFLECTION: LazyLock<Vec<&'static Rule>> = LazyLock::new(|| {
        rules_of(
            "obvert.design.v1.DeflectionInputs",
            DEFLECTION.map(|(name, _)| name),
        )
    });
    static OF_ORDER: LazyLock<Vec<&'static Rule>> =
        LazyLock::new(|| rules_of("obvert.design.v1.OrderInputs", ORDER.map(|(name, _)| name)));
    let mut wrong = Vec::new();
    choices(inputs, &mut wrong);
    if let Some(order) = &inputs.order {
        for ((name, of), rule) in ORDER.iter().zip(OF_ORDER.iter()) {
            let path = format!("order.{name}");
            number(name, &path, of(order), rule, &mut wrong);
        }
    }
    if let Some(deflection) = &inputs.deflection {
        for ((name, of), rule) in DEFLECTION.iter().zip(OF_DEFLECTION.iter()) {
            let path = format!("deflection.{name}");
            number(name, &path, of(deflection), rule, &mut wrong);
        }
    }
    for ((name, of), rule) in INPUTS.iter().zip(OF_INPUTS.iter()) {
        number(name, name, of(inputs), rule, &mut wrong);
    }
    let count = inputs.sections.len();
    if !(1..=MOST_SECTIONS).contains(&count) {
        let message = format!("has {count} elements, 1 to {MOST_SECTIONS} are taken");
        wrong.push(Violation::new("sections", message));
        return wrong;
    }
    for (index, section) in inputs.sections.iter().enumerate() {
        for ((name, of), rule) in SECTION.iter().zip(OF_SECTION.iter()) {
            let value = of(section);
            if !holds(value, rule) {
                number(
                    name,
                    &format!("sections[{index}].{name}"),
                    value,
                    rule,
                    &mut wrong,
                );
            }
        }
    }
    wrong
}

fn choices(inputs: &WallInputs, wrong: &mut Vec<Violation>) {
    let given = [
        (
            "host_condition",
            inputs.host_condition() != HostCondition::Unspecified,
        ),
        (
            "ovality_place",
            inputs.ovality_place() != OvalityPlace::Unspecified,
        ),
        (
            "constants",
            inputs.constants() != ConstantsPath::Unspecified,
        ),
        (
            "live_load_method",
            inputs.live_load_method() != LiveLoadMethod::Unspecified,
        ),
        (
            "thickness_basis",
            inputs.thickness_basis() != ThicknessBasis::Unspecified,
        ),
        (
            "groundwater_rule",
            GroundwaterRule::try_from(inputs.groundwater_rule).is_ok(),
        ),
    ];
    for (field, _) in given.into_iter().filter(|(_, given)| !given) {
        wrong.push(Violation::new(
            field,
            "is missing or unknown: give one of the schema's words",
        ));
    }
}

fn holds(value: f64, rule: &Rule) -> bool {
    let above = rule.min.is_none_or(|min| value >= min);
    value.is_finite() && above && rule.max.is_none_or(|max| value <= max)
}

fn number(name: &str, path: &str, value: f64, rule: &Rule, wrong: &mut Vec<Violation>) {
    if holds(value, rule) {
        return;
    }
    let (min, max) = (
        rule.min.unwrap_or(f64::NEG_INFINITY),
        rule.max.unwrap_or(f64::INFINITY),
    );
    let unit = unit(name);
    let message = if value == 0.0 && rule.required {
        format!("is missing: give {min} to {max} {unit}")
    } else {
        format!("is {value} {unit}, allowed is {min} to {max} {unit}: check value and unit")
    };
    wrong.push(Violation::new(
        path,
        message.replace(" ,", ",").replace(" :", ":").trim_end(),
    ));
}

fn rules_of<const N: usize>(message: &str, names: [&str; N]) -> Vec<&'static Rule> {
    static NONE: LazyLock<Rule> = LazyLock::new(Rule::default);
    let descriptor = pool().get_message_by_name(message);
    let field = |name: &str| descriptor.as_ref().and_then(|d| d.get_field_by_name(name));
    names
        .map(|name| field(name).map_or(&*NONE, |field| rule(&field)))
        .to_vec()
}
