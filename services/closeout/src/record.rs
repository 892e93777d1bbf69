//! What one plan must say of itself.

use obvert_proto::{
    Violation,
    closeout::v1::{Claim, ClaimDecision, Plan},
    dates::unix_ms,
};

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

/// Violations across the fields of a claim: a decision needs who, when and why.
pub(crate) fn check_claim(claim: &Claim) -> Vec<Violation> {
    let decided = claim.decision() != ClaimDecision::Unspecified;
    let given = [
        ("decided_by", !claim.decided_by.trim().is_empty()),
        ("decided_time", claim.decided_time.is_some()),
        ("decision_reason", !claim.decision_reason.trim().is_empty()),
    ];
    let mut wrong = Vec::new();
    for (field, given) in given {
        match (decided, given) {
            (true, false) => wrong.push(Violation::new(
                field,
                "is missing: a decision needs who, when and why",
            )),
            (false, true) => wrong.push(Violation::new(
                field,
                "is given without a decision: say what was decided",
            )),
            _ => {}
        }
    }
    let times = claim.raised_time.as_ref().zip(claim.decided_time.as_ref());
    if times.is_some_and(|(raised, decided)| unix_ms(decided) < unix_ms(raised)) {
        wrong.push(Violation::new(
            "decided_time",
            "lies before raised_time: correct one of the two",
        ));
    }
    wrong
}
