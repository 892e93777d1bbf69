//! What must hold of the sections of a design.

use obvert_proto::{
    Violation,
    design::v1::{DesignSection, LiveLoadMethod, WallInputs},
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
        let (water, cover) = (section.groundwater_above_crown_m, section.cover_m);
        if water > cover {
            let message = format!(
                "is {water} m, above the ground at {cover} m over the crown: check both heights \
                 and whether one is in feet"
            );
            push("groundwater_above_crown_m", message);
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
        _ => None,
    }
}
