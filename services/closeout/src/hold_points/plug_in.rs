//! # Holds
//! Whatever a check of the owner's own holds.
//! # Why
//! An owner may know rules that are not built in; the answer must stay the same when it is read
//! again.
//! # Released when
//! The last verdict on file that the named plug-in gave for this point releases, and rests on
//! exactly the evidence on file now. No verdict, an older one, or one that the plug-in could not
//! give, holds.
//! # Evidence
//! Plug-in verdict.
//! # Parameters
//! `evaluator`: name of the plug-in.
//! # Source
//! The plan's source clause.

use obvert_proto::closeout::v1::Verdict;

use super::{Evaluator, Judging, Outcome, ParameterKind, found};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "plug-in",
    proves: "the owner's own check of the evidence released it",
    parameters: &[ParameterKind::text("evaluator", &[], "name of the plug-in").needed()],
    limits: &[],
    evidence: &["plug-in-verdict"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let name = judging.text("evaluator").unwrap_or_default();
    let of_point = file
        .plugin_verdicts
        .iter()
        .filter(|verdict| verdict.point == judging.point.id && verdict.evaluator == name);
    let Some(verdict) = of_point.max_by_key(|verdict| verdict.revision) else {
        let what = format!("the verdict of the plug-in {name}");
        j.missing(
            "plug-in-verdict",
            &what,
            "start the plug-in and have it judge the segment",
        );
        return j.outcome();
    };
    j.uses(verdict);
    j.fact("verdict", verdict.verdict().as_str_name());
    for finding in &verdict.findings {
        let message = format!("{name}: {}", finding.message);
        let found = found(finding.code.clone(), message).of_all(finding.records.iter().cloned());
        if finding.holds {
            j.hold(found)
        } else {
            j.note(found)
        }
    }
    if verdict.evidence_digest != file.evidence_digest() {
        let message = format!(
            "the verdict of {name} rests on other evidence than is on file: have it judge the \
             segment again"
        );
        j.hold(found("plug-in-verdict-stale", message).of(verdict.record()));
    }
    match verdict.verdict() {
        Verdict::Released => j.outcome(),
        Verdict::NotApplicable => j.not_applicable(format!("{name} says that it does not apply")),
        Verdict::Held | Verdict::Unspecified => {
            let message = format!("{name} holds this point: see its findings");
            j.hold(found("plug-in-held", message).of(verdict.record()));
            j.outcome()
        }
    }
}
