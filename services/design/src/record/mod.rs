//! What must hold across the fields of a design, beyond what the schema says of each.

pub(crate) mod checks;
mod diameters;
mod feet;
mod ranges;
mod sections;
mod sources;

use obvert_proto::{
    Violation,
    design::v1::{WallDesign, WallInputs},
};

pub(crate) use diameters::ovality_of;
pub(crate) use feet::feet_and_metres;
pub(crate) use sources::source_of;

use crate::rules::wall_result;

/// Violations across the fields of a design that is to be stored.
pub(crate) fn check_wall_design(design: &WallDesign) -> Vec<Violation> {
    let mut wrong = Vec::new();
    if let Some(inputs) = &design.inputs {
        wrong.extend(across(inputs));
        wrong.extend(sources::missing(inputs));
        if wrong.is_empty() {
            wrong.extend(wall_result(inputs).err().unwrap_or_default());
        }
    }
    let mut wrong: Vec<_> = wrong
        .into_iter()
        .map(|v| Violation::new(format!("inputs.{}", v.field), v.message))
        .collect();
    if design.sealed_by.is_empty() != design.sealed_date.is_none() {
        let message = "and sealed_date stand together: give licence number and date, or neither";
        wrong.push(Violation::new("sealed_by", message));
    }
    wrong
}

/// Violations of inputs that came without a record: the schema's ranges and those across fields.
///
/// Sources may be left out here; those given must be right.
pub(crate) fn check_inputs(inputs: &WallInputs) -> Vec<Violation> {
    let mut wrong = ranges::check(inputs);
    wrong.extend(across(inputs));
    wrong
}

/// Inputs without a source, for a note.
pub(crate) fn inputs_without_source(inputs: &WallInputs) -> usize {
    sources::missing_count(inputs)
}

fn across(inputs: &WallInputs) -> Vec<Violation> {
    let mut wrong = Vec::new();
    wrong.extend(ovality_as_fraction(inputs.ovality_percent));
    let (long, short) = (
        inputs.long_term_flexural_strength_mpa,
        inputs.short_term_flexural_strength_mpa,
    );
    if long > short && short > 0.0 {
        let message = format!("is {long} MPa, more than the initial {short} MPa: exchange the two");
        wrong.push(Violation::new("long_term_flexural_strength_mpa", message));
    }
    wrong.extend(diameters::check(inputs));
    wrong.extend(sections::check(inputs));
    wrong.extend(feet::check(inputs));
    wrong.extend(sources::check(inputs));
    wrong
}

/// An ovality that was written as a fraction of one.
pub(crate) fn ovality_as_fraction(ovality: f64) -> Option<Violation> {
    let percent = ovality * 100.0;
    let message = format!(
        "is {ovality}, which looks like a fraction: give percent, {percent} for {percent} percent, \
         or 0 for a round pipe"
    );
    (ovality > 0.0 && ovality < 0.1).then(|| Violation::new("ovality_percent", message))
}
