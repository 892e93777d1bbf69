//! # Holds
//! Whatever a check of the owner's own holds.
//! # Why
//! An owner may know rules that are not built in; the answer must stay the same when it is read
//! again.
//! # Released when
//! The last verdict on file that the named plug-in gave for this point, for exactly the evidence
//! and the settings in force now, releases. No verdict, one for other evidence, or one that the
//! plug-in could not give, holds. The server asks in the background; nobody waits for it. When the
//! plug-in comes in another version, the server asks again, and its newer verdict takes the place of
//! the older; nothing that is past on an accepted segment is asked again for that alone.
//! # Evidence
//! Plug-in verdict, and the records that it rests on.
//! # Parameters
//! `evaluator`: id of the plug-in in the server's config. `settings`: what the plan sets of the
//! plug-in's parameters, as `name=value`.
//! # Source
//! The plan's source clause.

use std::collections::BTreeMap;

use obvert_proto::closeout::v1::{PluginVerdict, Verdict};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, found};
use crate::{
    plan::{ParameterValue, Point},
    segment_file::Kept,
};

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "plug-in",
    proves: "the owner's own check of the evidence released it",
    parameters: &[
        ParameterKind::text("evaluator", &[], "name of the plug-in").needed(),
        ParameterKind::settings("settings", "parameters of the plug-in; none when left out"),
    ],
    limits: &[],
    evidence: &["plug-in-verdict"],
    judge,
};

/// Name of the plug-in that judges a point, if one does.
pub(crate) fn asks(point: &Point) -> Option<&str> {
    match point.parameter("evaluator") {
        Some(ParameterValue::Text(name)) if point.evaluator == EVALUATOR.name => Some(name),
        _ => None,
    }
}

/// Parameters that a point sets of its plug-in.
pub(crate) fn settings(point: &Point) -> BTreeMap<String, String> {
    let Some(ParameterValue::Words(words)) = point.parameter("settings") else {
        return BTreeMap::new();
    };
    let pairs = words.iter().filter_map(|word| word.split_once('='));
    pairs
        .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
        .collect()
}

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    let name = judging.text("evaluator").unwrap_or_default();
    let of_point = |verdict: &&Kept<PluginVerdict>| {
        verdict.point == judging.point.id && verdict.evaluator == name
    };
    let given = file.plugin_verdicts.iter().filter(of_point);
    let Some(last) = given.clone().max_by_key(|verdict| verdict.revision) else {
        let what = format!("the verdict of the plug-in {name}");
        let remedy = "the server asks for it in the background; if it does not come, see that the \
                      plug-in runs and that the server's config names it";
        j.missing("plug-in-verdict", &what, remedy);
        return j.outcome();
    };
    let settings = settings(judging.point);
    let present = given.filter(|verdict| {
        verdict.evidence_digest == file.evidence_digest() && verdict.parameters == settings
    });
    let Some(verdict) = present.max_by_key(|verdict| verdict.revision) else {
        j.uses(last);
        let message = format!(
            "the verdict of {name} rests on other evidence or settings than are in force: the \
             server asks for a new one in the background"
        );
        j.hold(found("plug-in-verdict-stale", message).of(last.record()));
        return j.outcome();
    };
    j.uses(verdict);
    let speaker = heard(&mut j, verdict);
    match verdict.verdict() {
        Verdict::Released if verdict.fault.is_empty() => j.outcome(),
        Verdict::NotApplicable if verdict.fault.is_empty() => {
            let reason = match verdict.not_applicable_reason.as_str() {
                "" => format!("{speaker} says that it does not apply"),
                reason => format!("{speaker}: {reason}"),
            };
            j.not_applicable(reason)
        }
        _ => {
            let message = match verdict.fault.as_str() {
                "" => format!("{speaker} holds this point: see its findings"),
                fault => format!("{speaker} gave no verdict that can be used ({fault})"),
            };
            j.hold(found("plug-in-held", message).of(verdict.record()));
            j.outcome()
        }
    }
}

/// Takes over what a verdict says and rests on; answers who says it.
fn heard(j: &mut Judgement<'_>, verdict: &Kept<PluginVerdict>) -> String {
    j.fact("verdict", verdict.verdict().as_str_name());
    let (name, version) = (&verdict.evaluator, &verdict.evaluator_version);
    let speaker = match version.as_str() {
        "" => name.clone(),
        version => format!("{name} {version}"),
    };
    if verdict.fault.is_empty() {
        let message = format!("judged by the plug-in {name}, version {version}");
        j.note(found("judged-by-plug-in", message).fact("version", version));
    }
    for record in &verdict.evidence {
        j.rests_on(record);
    }
    for finding in &verdict.findings {
        let message = format!("{speaker}: {}", finding.message);
        let facts = finding.facts.iter();
        let found = facts.fold(
            found(finding.code.clone(), message),
            |found, (key, value)| found.fact(key, value),
        );
        let found = found.of_all(finding.records.iter().cloned());
        if finding.holds {
            j.hold(found)
        } else {
            j.note(found)
        }
    }
    speaker
}
