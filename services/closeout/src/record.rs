//! What one plan must say of itself.

use obvert_proto::{Violation, closeout::v1::Plan};

use crate::plan;

/// Violations across the fields of a plan. Faults of its text have rows and are told apart, see
/// [`crate::rules`].
pub(crate) fn check_plan(plan: &Plan) -> Vec<Violation> {
    let Ok(text) = plan::parse(&plan.source) else {
        return Vec::new();
    };
    let pairs = [
        ("title", &plan.title, &text.title),
        ("owner", &plan.owner, &text.owner),
        ("plan_revision", &plan.plan_revision, &text.revision),
    ];
    let differs = pairs.into_iter().filter(|(_, record, text)| record != text);
    differs
        .map(|(field, record, text)| {
            let message =
                format!("is \"{record}\", the plan's text says \"{text}\": write the same");
            Violation::new(field, message)
        })
        .collect()
}
