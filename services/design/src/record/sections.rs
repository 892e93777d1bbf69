//! What must hold of the sections of a design.

use obvert_proto::{
    Violation,
    design::v1::{DesignSection, GroundwaterRule, LiveLoadMethod, WallInputs},
};

/// Violations inside sections and between them.
pub(super) fn check(inputs: &WallInputs) -> Vec<Violation> {
    let mut wrong = Vec::new();
    for (index, section) in inputs.sections.iter().enumerate() {
        let mut push = |field: &str, message: String| {
            wrong.push(Violation::new(
                format!("sections[{index}].{field}"),
                message,
            ));
        };
        for (field, message) in groundwater(section, inputs) {
            push(field, message);
        }
        if let Some(message) = live_load(section, inputs.live_load_method()) {
            push("live_load_mpa", message);
        }
        let earlier = inputs.sections[..index].iter();
        if earlier
            .clone()
            .any(|other| other.station_m == section.station_m)
        {
            let message = format!("is {} m, which an earlier section has", section.station_m);
            push("station_m", message + ": give each section once");
        }
    }
    wrong
}

fn groundwater(section: &DesignSection, inputs: &WallInputs) -> Vec<(&'static str, String)> {
    let (crown, invert) = ("groundwater_above_crown_m", "groundwater_above_invert_m");
    let (water, cover) = (section.groundwater_above_crown_m, section.cover_m);
    let mut wrong = Vec::new();
    if water > cover {
        let message = format!(
            "is {water} m, above the ground at {cover} m over the crown: check both heights and \
             whether one is in feet"
        );
        wrong.push((crown, message));
    }
    if let Some(head) = section.groundwater_above_invert_m {
        let ground = cover + inputs.host_inside_diameter_mm / 1000.0;
        if head > ground {
            let message = format!(
                "is {head} m, above the ground at {ground:.3} m over the invert: check both heights \
                 and whether one is in feet"
            );
            wrong.push((invert, message));
        }
        if water > 0.0 {
            let message = format!(
                "is {head} m and {crown} is {water} m: give one of the two, or 0 above the invert \
                 for a dry pipe"
            );
            wrong.push((invert, message));
        }
    }
    let rule = inputs.groundwater_rule();
    let entered = matches!(
        rule,
        GroundwaterRule::Unspecified | GroundwaterRule::Entered
    );
    if !entered && (water > 0.0 || section.groundwater_above_invert_m.is_some()) {
        let field = if water > 0.0 { crown } else { invert };
        let message = format!(
            "is given and the rule takes groundwater {}: leave it out or enter the groundwater",
            rule.word()
        );
        wrong.push((field, message));
    }
    wrong
}

fn live_load(section: &DesignSection, method: LiveLoadMethod) -> Option<String> {
    match (method, section.live_load_mpa) {
        (LiveLoadMethod::Entered, None) => {
            Some("is missing: the live load is entered, so give it in MPa".to_owned())
        }
        (LiveLoadMethod::None, Some(load)) if load > 0.0 => Some(format!(
            "is {load} MPa and the method says no traffic: leave it out or change live_load_method"
        )),
        (LiveLoadMethod::Hs20Table | LiveLoadMethod::E80Table, Some(load)) => Some(format!(
            "is {load} MPa and the method reads a table: leave it out or choose the entered method"
        )),
        (LiveLoadMethod::H20Wheel, Some(load)) => Some(format!(
            "is {load} MPa and the method works it out: leave it out or choose the entered method"
        )),
        _ => None,
    }
}
