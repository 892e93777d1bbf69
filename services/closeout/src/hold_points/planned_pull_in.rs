//! # Holds
//! The pull-in, when nobody has shown that the liner can be carried, pulled and held open.
//! # Why
//! A crew that finds out at the manhole that a liner is too heavy pulls it anyway.
//! # Released when
//! For every liner of the segment a pull-in check is on file that names its certificate, and none of
//! them found a force, a load, an elongation or an outside pressure beyond its limit.
//! # Evidence
//! Pull-in check, liner.
//! # Parameters
//! None.
//! # Source
//! Force within the maker's greatest for size and wall: Najafi 2010 pp. 290 and 291. The rest is
//! statics with limits that the check states.

use super::{Evaluator, Judging, Outcome};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "planned-pull-in",
    proves: "the liner can be carried, pulled in and held open within its limits",
    parameters: &[],
    limits: &[],
    evidence: &["pull-in-check", "liner"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let liners = file.liner_names_in_force();
    if liners.is_empty() {
        j.missing(
            "liner",
            "the liner of this segment",
            "file it when it is made",
        );
    }
    for liner in &liners {
        j.named(&file.liners, liner, "liner");
        let checks = file.pull_in_checks.iter().filter(|c| c.liner == *liner);
        let checks: Vec<_> = checks.collect();
        if checks.is_empty() {
            let what = format!("the pull-in check of liner {}", file.number_of(liner));
            j.missing_about(
                liner,
                "pull-in-check",
                &what,
                "file it with the force its certificate allows",
            );
        }
        for check in checks {
            j.uses(check);
            let result = check.result.clone().unwrap_or_default();
            j.fact(
                format!("{}.pull_force_kn", check.id()),
                result.pull_force_kn,
            );
            j.fact(format!("{}.mass_kg", check.id()), result.mass_kg);
            j.findings_of(check, &result.findings, check.result.is_some());
        }
    }
    j.outcome()
}
