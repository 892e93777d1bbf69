//! The ovality beside the diameters it was worked out from.

use obvert_engineering::ovality::Ovality;
use obvert_proto::{Violation, design::v1::WallInputs};

/// What rounding an ovality to two digits leaves, in percent.
const ROUNDING_PERCENT: f64 = 0.005;

/// Ovality by the larger of the two definitions, where the diameters are given.
pub(crate) fn ovality_of(inputs: &WallInputs) -> Option<Result<f64, Vec<Violation>>> {
    let both = inputs
        .host_diameter_max_mm
        .zip(inputs.host_diameter_min_mm)?;
    let found = Ovality {
        maximum_diameter_mm: both.0,
        mean_diameter_mm: inputs.host_inside_diameter_mm,
        minimum_diameter_mm: both.1,
    };
    Some(found.ovality_percent().map_err(|problems| {
        let names = [
            ("maximum_diameter_mm", "host_diameter_max_mm"),
            ("minimum_diameter_mm", "host_diameter_min_mm"),
            ("mean_diameter_mm", "host_inside_diameter_mm"),
        ];
        let translated = |problem: &obvert_engineering::OutOfRange| {
            let own = names.iter().find(|(theirs, _)| *theirs == problem.field);
            let field = own.map_or(problem.field.as_str(), |(_, ours)| ours);
            Violation::new(field, problem.to_string())
        };
        problems.0.iter().map(translated).collect()
    }))
}

/// One diameter without the other, and an ovality below that of its diameters. A larger one is an
/// owner's minimum.
pub(super) fn check(inputs: &WallInputs) -> Vec<Violation> {
    if inputs.host_diameter_max_mm.is_some() != inputs.host_diameter_min_mm.is_some() {
        let message = "and host_diameter_min_mm stand together: give both or neither";
        return vec![Violation::new("host_diameter_max_mm", message)];
    }
    match ovality_of(inputs) {
        Some(Ok(found)) if found > inputs.ovality_percent + ROUNDING_PERCENT => {
            let message = format!(
                "is {} percent, the diameters give {found:.2} percent by the larger of the two \
                 definitions: give no less",
                inputs.ovality_percent
            );
            vec![Violation::new("ovality_percent", message)]
        }
        Some(Err(wrong)) => wrong,
        _ => Vec::new(),
    }
}
