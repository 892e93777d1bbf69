//! # Holds
//! Whatever the owner puts it before, when the lined pipe would carry less than the host did.
//! # Why
//! A liner takes room; what it gives back in smoothness has to be shown, with whose roughness.
//! # Released when
//! At least one hydraulic check of the segment is on file, none of them found that capacity is lost
//! or that the design flow does not fit, and none counts a thinner wall than was ordered.
//! # Evidence
//! Hydraulic check, liner order.
//! # Parameters
//! None.
//! # Source
//! Manning's equation; Najafi 2010, Tables 2.13 and 2.14. What is lost is settled by the check.

use super::{Evaluator, Judging, Outcome, figure, found, ordered_wall::SLACK_MM};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "lined-capacity",
    proves: "the lined pipe carries at least what the host pipe did",
    parameters: &[],
    limits: &[],
    evidence: &["hydraulic-check", "liner-order"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    if file.hydraulic_checks.is_empty() {
        j.missing(
            "hydraulic-check",
            "the check of capacity after lining",
            "file it with the roughness before and after and its source",
        );
    }
    for check in &file.hydraulic_checks {
        j.uses(check);
        let result = check.result.clone().unwrap_or_default();
        j.fact(
            format!("{}.capacity_percent", check.id()),
            result.capacity_percent,
        );
        j.findings_of(check, &result.findings, check.result.is_some());
        let total_mm = check.inputs.as_ref().map_or(0.0, |i| i.total_wall_mm);
        for name in file.order_names_in_force() {
            let Some(order) = j.named(&file.orders, &name, "order") else {
                continue;
            };
            let ordered_mm = order.wall.unwrap_or_default().wall_thickness_mm;
            if total_mm < ordered_mm - SLACK_MM {
                let message = format!(
                    "hydraulic check {} counts a total wall of {} mm, thinner than the {} mm ordered: \
                     work it out again with the total wall",
                    check.number(),
                    figure(total_mm),
                    figure(ordered_mm)
                );
                let found = found("capacity-of-thinner-wall", message);
                j.hold(found.of(check.record()).of(order.record()));
            }
        }
    }
    j.outcome()
}
