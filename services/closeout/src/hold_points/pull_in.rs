//! # Holds
//! Acceptance, when the liner was pulled too hard or stretched too far.
//! # Why
//! A stretched tube is a thinner wall.
//! # Released when
//! For every run the greatest winch force and the elongation by the tube's own marks are on file,
//! the force is within what the certificate or sheet allows, and the elongation within the maker's
//! sheet.
//! # Evidence
//! Run, liner, liner order, maker's sheet.
//! # Parameters
//! None.
//! # Source
//! Force within the maker's greatest for size and wall: Najafi 2010 pp. 290 and 291.

use super::{Evaluator, Judging, Outcome, figure, found};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "pull-in",
    proves: "force and elongation of the pull-in stayed within the maker's",
    parameters: &[],
    limits: &[],
    evidence: &["run", "liner", "liner-order", "maker-sheet"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    for run in j.runs() {
        let (id, number) = (run.id(), run.number());
        let (force, allowed) = (run.pull_force_max_kn, run.pull_force_allowed_kn);
        match force.zip(allowed) {
            Some((force, allowed)) => {
                j.fact(format!("{id}.pull_force_max_kn"), force);
                j.fact(format!("{id}.pull_force_allowed_kn"), allowed);
                if force > allowed {
                    let message = format!(
                        "the winch force of run {number} was {} kN, allowed is {} kN: ask the maker, \
                         measure the wall",
                        figure(force),
                        figure(allowed)
                    );
                    j.hold(
                        found("pull-force-above", message)
                            .of(run.record())
                            .fact("pull_force_max_kn", force),
                    );
                }
            }
            None => {
                let what = format!("the winch force of run {number} and what is allowed");
                j.missing_about(&run.name, "pull-force", &what, "revise the run with both");
            }
        }
        let Some(liner) = j.named(&file.liners, &run.liner, "liner") else {
            continue;
        };
        let Some(order) = j.named(&file.orders, &liner.order, "order") else {
            continue;
        };
        let sheet = j.named(&file.maker_sheets, &order.maker_sheet, "maker's sheet");
        let Some(sheet) = sheet else { continue };
        let Some(elongation) = run.elongation_percent else {
            let what = format!("the elongation in run {number}");
            j.missing_about(
                &run.name,
                "elongation",
                &what,
                "read the tube's marks at both ends and revise the run",
            );
            continue;
        };
        j.fact(format!("{id}.elongation_percent"), elongation);
        j.fact(
            format!("{id}.elongation_max_percent"),
            sheet.elongation_max_percent,
        );
        if elongation > sheet.elongation_max_percent {
            let message = format!(
                "the elongation in run {number} is {} percent, the maker's sheet allows {} percent: \
                 measure the wall and ask the maker",
                figure(elongation),
                figure(sheet.elongation_max_percent)
            );
            let found = found("elongation-above", message)
                .of(run.record())
                .of(sheet.record());
            j.hold(found.fact("elongation_percent", elongation));
        }
    }
    j.outcome()
}
