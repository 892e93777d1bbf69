//! From evidence, plan and releases to where each point stands.
//!
//! Pure: the time of evaluation is that of the revision's commit, so the same revision gives the
//! same answer for ever. Evidence alone releases a review point. A hold or a witness point also
//! needs a release by a role that the plan names, resting on the same facts; when the facts change,
//! the release no longer stands. A variance passes a held point, is always shown as one, and may
//! expire.

use std::collections::BTreeMap;

use jiff::civil::Date;
use obvert_proto::{
    closeout::v1::{
        EvidenceUsed, PointClass, PointState, PointStatus, Release, ReleaseKind, SegmentStatus,
        Verdict,
    },
    common::v1::{Finding, LocalDate, RecordRef},
    counted,
    dates::from_unix_ms,
};

use crate::{
    claims::after_acceptance,
    due::due_date,
    evidence_list,
    hold_points::{Evaluator, Judging, Outcome, found},
    in_force::{releases, reopened_by},
    plan::{self, PlanText, Point},
    sampling::sampled,
    segment_file::{Kept, SegmentFile},
    witness,
};

/// States in which a point is past.
pub const PAST: &[PointState] = &[
    PointState::Released,
    PointState::Variance,
    PointState::NotApplicable,
];

/// Where every point of a segment stands.
pub fn evaluate(plan: &PlanText, plan_ref: &RecordRef, file: &SegmentFile) -> SegmentStatus {
    let mut done: Vec<PointStatus> = Vec::new();
    for point in plan.in_order() {
        let status = status_of(plan, point, file, &done);
        done.push(status);
    }
    let mut by_id: BTreeMap<String, PointStatus> = done
        .into_iter()
        .map(|status| (status.point.clone(), status))
        .collect();
    let points: Vec<_> = plan
        .points
        .iter()
        .filter_map(|point| by_id.remove(&point.id))
        .collect();
    let plan_changes = plan_changes(plan, plan_ref, file, &points);
    let evidence = evidence_list::rows(plan, &points);
    // What comes after the acceptance, such as an inspection before the warranty ends, is no part
    // of it.
    let after_acceptance = plan.after_acceptance();
    let asked = |status: &&PointStatus| !after_acceptance.contains(status.point.as_str());
    let mut before = points.iter().filter(asked);
    let accepted = !points.is_empty() && before.all(|point| PAST.contains(&point.state()));
    SegmentStatus {
        segment: file.name.clone(),
        owner_segment_id: file
            .segment()
            .map_or(String::new(), |s| s.owner_segment_id.clone()),
        revision: file.revision,
        plan: Some(plan_ref.clone()),
        points,
        accepted,
        plan_changes,
        evidence,
        // Who filed the plan is no part of a verdict: who loads the plan adds it.
        plan_states: Vec::new(),
    }
}

/// What the plan asks otherwise than when points were released by it, one sentence for each state
/// of it by which some stand.
fn plan_changes(
    plan: &PlanText,
    plan_ref: &RecordRef,
    file: &SegmentFile,
    points: &[PointStatus],
) -> Vec<String> {
    let mut by_plan: BTreeMap<(i64, &str), Vec<&str>> = BTreeMap::new();
    for status in points {
        if let Some(by) = status.judged_by.as_ref().filter(|by| *by != plan_ref) {
            let released = by_plan.entry((by.revision, &by.name)).or_default();
            released.push(&status.point);
        }
    }
    let mut said = Vec::new();
    for ((revision, name), released) in by_plan {
        let mut states = file.former_plans.iter();
        let former = states.find(|p| (p.name.as_str(), p.revision) == (name, revision));
        let former = former.and_then(|former| plan::parse(&former.source).ok());
        let since = format!(
            "since {name}@{revision}, by which {} stands",
            released.join(", ")
        );
        match former.map(|former| plan::changes(&former, plan)) {
            None => said.push(format!("{since}: that plan cannot be read any more")),
            Some(changes) if changes.is_empty() => {
                said.push(format!("{since}: the plan asks for the same"));
            }
            Some(changes) => said.push(format!("{since}: {}", changes.join("; "))),
        }
    }
    said
}

fn status_of(
    plan: &PlanText,
    point: &Point,
    file: &SegmentFile,
    before: &[PointStatus],
) -> PointStatus {
    let judging = Judging {
        file,
        plan,
        point,
        before,
    };
    let outcome = match Evaluator::of(&point.evaluator) {
        Some(evaluator) => (evaluator.judge)(&judging),
        None => {
            let mut j = judging.start();
            let message = format!(
                "no evaluator is called {}: correct the plan",
                point.evaluator
            );
            j.hold(found("evaluator-unknown", message));
            j.outcome()
        }
    };
    let outcome = sampled(&judging, outcome);
    let mut stands = stand(&judging, &outcome);
    let due = due_date(plan, point, file);
    stands
        .findings
        .extend(due.and_then(|due| overdue(&judging, due, stands.state)));
    let release = stands.release;
    let notice = release.and_then(|release| witness::evidence(file, point, release));
    let mut evidence = outcome.evidence;
    evidence.extend(notice);
    let mut findings = outcome.findings;
    findings.extend(stands.findings);
    PointStatus {
        point: point.id.clone(),
        title: point.title.clone(),
        stage: point.stage.clone(),
        point_class: point.class.into(),
        verdict: outcome.verdict.into(),
        state: stands.state.into(),
        findings,
        evidence,
        facts_digest: outcome.facts_digest.to_vec(),
        release: release.map_or(String::new(), |release| release.name.clone()),
        released_by: release.map_or(String::new(), |r| format!("{} ({})", r.principal, r.role)),
        release_time: release.map(|release| from_unix_ms(release.commit_time_ms)),
        source_clause: point.source_clause.clone(),
        reason: match (release, stands.state) {
            (Some(release), PointState::Variance) => release.note.clone(),
            (_, PointState::NotApplicable) => outcome.not_applicable_reason,
            _ => String::new(),
        },
        reopened: stands.reopened,
        valid_until_date: release.and_then(|release| release.valid_until_date),
        judged_by: release.and_then(|release| release.plan.clone()),
        due_date: due.map(LocalDate::from_civil),
    }
}

/// Note that a point is not past on the day after it was due.
fn overdue(judging: &Judging<'_>, due: Date, state: PointState) -> Option<Finding> {
    let today = judging.file.local_date(judging.file.commit_time_ms);
    if PAST.contains(&state) || today <= due {
        return None;
    }
    let late = (today - due).get_days();
    let message = format!(
        "was due on {due}, {} ago ({}): settle what holds it",
        counted(late, "day", "days"),
        plan::due_words(judging.plan, judging.point)
    );
    Some(
        found("point-overdue", message)
            .fact("due_date", due)
            .holding(false),
    )
}

/// Where one point stands, and by which release.
struct Stand<'a> {
    state: PointState,
    release: Option<&'a Kept<Release>>,
    findings: Vec<Finding>,
    reopened: bool,
}

fn stand<'a>(judging: &Judging<'a>, outcome: &Outcome) -> Stand<'a> {
    let point = judging.point;
    let waits = waits_for(judging);
    let (current, lost) = releases(judging, outcome);
    let state = match (
        outcome.verdict,
        current.map(|release| release.release_kind()),
    ) {
        (Verdict::NotApplicable, _) => PointState::NotApplicable,
        (Verdict::Held, Some(ReleaseKind::Variance)) => PointState::Variance,
        (Verdict::Released, Some(ReleaseKind::Release | ReleaseKind::Lapse)) => {
            PointState::Released
        }
        (Verdict::Released, _) if point.class == PointClass::Review => PointState::Released,
        (Verdict::Released, _) => PointState::AwaitsRelease,
        _ => PointState::Held,
    };
    let mut findings = Vec::new();
    let past = PAST.contains(&state);
    let reopened = !past && lost.is_some();
    let accepts = point.evaluator == "final-acceptance";
    if let Some(lost) = lost.filter(|_| !past) {
        findings.push(reopened_by(judging.file, lost).holding(false));
        if accepts {
            findings.extend(after_acceptance(judging.file, lost));
        }
    }
    let claimed = findings.iter().any(|finding| finding.holds);
    let state = if claimed { PointState::Held } else { state };
    if !waits.is_empty() && state != PointState::NotApplicable {
        let titles: Vec<_> = waits.iter().map(|id| title_of(judging, id)).collect();
        let message = format!("waits for {}: settle those first", titles.join(", "));
        let waits = found("waits-for-earlier-points", message).fact("points", waits.join(" "));
        findings.push(waits.holding(true));
        return Stand {
            state: PointState::Held,
            release: None,
            findings,
            reopened,
        };
    }
    let release = current.filter(|_| state != PointState::NotApplicable);
    findings.extend(release.and_then(|release| self_released(judging, outcome, release)));
    findings.extend(release.and_then(|release| re_evaluated(judging.file, release, outcome)));
    Stand {
        state,
        release,
        findings,
        reopened,
    }
}

/// Note that the plan let a point be passed by who recorded what it rests on.
fn self_released(
    judging: &Judging<'_>,
    outcome: &Outcome,
    release: &Kept<Release>,
) -> Option<Finding> {
    let own = recorded_by(judging.file, &release.principal, &outcome.evidence)?;
    let message = format!(
        "{} recorded {} and passed point {} on it, which the plan allows here by self_release",
        release.principal,
        judging.file.called(own),
        judging.point.id
    );
    let note = found("released-by-its-recorder", message);
    Some(note.of_all(own.record.clone()).holding(false))
}

/// Note that records were written again since the release that rests on them, and nothing changed
/// that it rests on.
fn re_evaluated(file: &SegmentFile, release: &Kept<Release>, outcome: &Outcome) -> Option<Finding> {
    let rested_on = |now: &RecordRef| {
        let mut then = release.evidence.iter();
        then.any(|then| then.name == now.name && then.revision < now.revision)
    };
    let used = outcome.evidence.iter();
    let again: Vec<_> = used
        .filter(|used| used.record.as_ref().is_some_and(rested_on))
        .collect();
    let called: Vec<_> = again.iter().map(|used| file.called(used)).collect();
    let message = format!(
        "re-evaluated, unchanged: corrected since the release of {}: {}; neither what counts here nor \
         the verdict changed",
        file.local_time(release.commit_time_ms),
        called.join(", ")
    );
    let note = found("release-re-evaluated", message).of(release.record());
    let records = again.iter().filter_map(|used| used.record.clone());
    (!again.is_empty()).then(|| note.of_all(records).holding(false))
}

/// Evidence that a principal recorded itself. A segment's own record is no result: whoever
/// registered it may accept it.
pub(crate) fn recorded_by<'a>(
    file: &SegmentFile,
    principal: &str,
    evidence: &'a [EvidenceUsed],
) -> Option<&'a EvidenceUsed> {
    let own = |record: &RecordRef| file.writer(&record.name) == principal;
    let mut results = evidence
        .iter()
        .filter(|used| used.evidence_kind != "segment");
    results.find(|used| used.record.as_ref().is_some_and(own))
}

/// What the plan calls a point.
fn title_of(judging: &Judging<'_>, id: &str) -> String {
    let point = judging.plan.point(id);
    point.map_or(id.to_owned(), |point| format!("\"{}\" ({id})", point.title))
}

/// Points before this one that are not past.
fn waits_for(judging: &Judging<'_>) -> Vec<String> {
    let past = |id: &&String| {
        judging
            .before
            .iter()
            .any(|s| s.point == **id && PAST.contains(&s.state()))
    };
    judging
        .point
        .after
        .iter()
        .filter(|id| !past(id))
        .cloned()
        .collect()
}
