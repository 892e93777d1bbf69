//! # Holds
//! The order, when the pipe is under pressure and the wall ordered does not serve both the full and
//! the empty pipe.
//! # Why
//! A gravity design says nothing of internal pressure, and a pressure design alone nothing of the
//! empty pipe.
//! # Released when
//! A pressure design of the segment is on file, and every order in force counts its wall on the wall
//! design's basis and orders no thinner one than the pressure design asks for.
//! # Evidence
//! Pressure design, wall design, liner order.
//! # Parameters
//! None.
//! # Source
//! ASTM F1216 Appendix X1, X1.5 to X1.7, from memory; the comparison is an own rule.

use super::{
    Evaluator, Judging, Outcome, figure, found,
    ordered_wall::{SLACK_MM, orders},
};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "pressure-wall",
    proves: "the wall ordered serves the full and the empty pipe under pressure",
    parameters: &[],
    limits: &[],
    evidence: &["pressure-design", "wall-design", "liner-order"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    if file.pressure_designs.is_empty() {
        let what = "the design for internal pressure";
        j.missing("pressure-design", what, "file it beside the wall design");
    }
    let orders = orders(judging, &mut j);
    for pressure in &file.pressure_designs {
        j.uses(pressure);
        let Some(design) = j.named(&file.designs, &pressure.design, "wall design") else {
            continue;
        };
        let result = pressure.result.clone().unwrap_or_default();
        let required_mm = result.required_wall_thickness_mm;
        j.fact(format!("{}.required_mm", pressure.id()), required_mm);
        j.findings_of(pressure, &result.findings, pressure.result.is_some());
        let basis = design.inputs.as_ref().map(|i| i.thickness_basis());
        let basis = basis.unwrap_or_default();
        for order in &orders {
            let wall = order.wall.unwrap_or_default();
            let records = [order.record(), pressure.record()];
            if wall.basis() != basis {
                let message = format!(
                    "order {} counts {}, the wall design counts {}: order on the design's basis",
                    order.number(),
                    wall.basis().word(),
                    basis.word()
                );
                j.hold(found("thickness-basis-differs", message).of_all(records));
            } else if wall.wall_thickness_mm < required_mm - SLACK_MM {
                let message = format!(
                    "the wall of order {} is {} mm, the pressure design {} requires {} mm: order a \
                     thicker liner",
                    order.number(),
                    figure(wall.wall_thickness_mm),
                    pressure.number(),
                    figure(required_mm)
                );
                let found = found("wall-too-thin-for-pressure", message);
                j.hold(found.of_all(records).fact("required_mm", required_mm));
            }
        }
    }
    j.outcome()
}
