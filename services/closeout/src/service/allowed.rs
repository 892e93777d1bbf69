//! Who may release, vary or let lapse a point, and when its evidence allows it.

use obvert_access::{Caller, Cell, role_word};
use obvert_proto::{
    Problem,
    closeout::v1::{
        PointClass, PointState, PointStatus, ReleaseKind, ReleasePointRequest, Verdict,
    },
    common::v1::Reason,
    project::v1::Role,
};

use super::release::action_of;
use crate::{Loaded, evaluator::recorded_by, plan::Point, rules::point_held};

/// Role under which the caller may do it by the plan.
pub(super) fn may_release(
    caller: &Caller,
    project: &str,
    point: &Point,
    request: &ReleasePointRequest,
) -> Result<Role, Problem> {
    let (roles, act) = match request.release_kind() {
        ReleaseKind::Variance => (point.varied_by.clone(), "give a variance of"),
        ReleaseKind::Lapse => {
            let office = role_word(Role::Office);
            (
                point.released_by.iter().cloned().chain([office]).collect(),
                "let lapse",
            )
        }
        _ if point.class == PointClass::Review => {
            let message = format!(
                "point {} is released by its evidence alone: file the evidence",
                point.id
            );
            return Err(Problem::new(Reason::ActRefused, message).fact("point", &point.id));
        }
        _ => (point.released_by.clone(), "release"),
    };
    let action = action_of(request);
    let bindings = caller
        .bindings
        .iter()
        .filter(|b| b.project == "*" || b.project == project);
    let mut held = bindings.map(|binding| binding.role());
    let fits =
        |role: &Role| action.cell(*role) == Cell::Allowed && roles.contains(&role_word(*role));
    held.find(fits).ok_or_else(|| {
        let needed = if roles.is_empty() {
            "nobody".to_owned()
        } else {
            roles.join(", ")
        };
        let message = format!(
            "{} may not {act} point {}, the plan names {needed}: ask someone with that role",
            caller.principal, point.id
        );
        caller
            .refused(message)
            .fact("point", &point.id)
            .fact("roles_needed", needed)
    })
}

/// The point is not released already: a second release would only make the first stand no more.
pub(super) fn is_open(point: &Point, status: &PointStatus) -> Result<(), Problem> {
    if status.state() != PointState::Released || status.release.is_empty() {
        return Ok(());
    }
    let message = format!(
        "point {} is released already, by {}: nothing is left to do",
        point.id, status.released_by
    );
    let problem = Problem::new(Reason::ActRefused, message);
    Err(problem
        .fact("point", &point.id)
        .fact("release", &status.release))
}

/// The evidence is whole.
pub(super) fn is_whole(status: &PointStatus) -> Result<(), Problem> {
    if status.verdict() != Verdict::Released || status.findings.iter().any(|finding| finding.holds)
    {
        return Err(point_held(status));
    }
    Ok(())
}

/// The evidence is not the caller's own, unless the plan lets its recorder pass the point.
pub(super) fn is_another_s(
    loaded: &Loaded,
    caller: &Caller,
    point: &Point,
    status: &PointStatus,
) -> Result<(), Problem> {
    let own = recorded_by(&loaded.file, &caller.principal, &status.evidence);
    match own.filter(|_| !point.self_release) {
        None => Ok(()),
        Some(own) => {
            let message = format!(
                "{} recorded {} and may not release point {} on it: ask another person",
                caller.principal,
                loaded.file.called(own),
                point.id
            );
            let record = own.record.as_ref().map_or("", |record| &record.name);
            Err(caller
                .refused(message)
                .fact("record", record)
                .fact("point", &point.id))
        }
    }
}

/// A variance is for evidence that holds, not for order of work, and within what the limits allow.
pub(super) fn may_vary(
    loaded: &Loaded,
    point: &Point,
    status: &PointStatus,
    role: Role,
) -> Result<(), Problem> {
    if status
        .findings
        .iter()
        .any(|finding| finding.code == "waits-for-earlier-points")
    {
        return Err(point_held(status));
    }
    if status.verdict() != Verdict::Held {
        let message = format!(
            "point {} is not held by its evidence: release it without a variance",
            point.id
        );
        return Err(Problem::new(Reason::ActRefused, message).fact("point", &point.id));
    }
    let role = role_word(role);
    let holding = status.findings.iter().filter(|finding| finding.holds);
    let named = holding.flat_map(|finding| finding.facts.keys());
    let limits = named.flat_map(|key| {
        loaded
            .plan
            .limits
            .iter()
            .filter(move |l| l.parameter == *key)
    });
    let mut fixed =
        limits.filter(|l| !l.who_may_vary.is_empty() && !l.who_may_vary.contains(&role));
    match fixed.next() {
        None => Ok(()),
        Some(limit) => {
            let message = format!(
                "the limit {} {} may be varied by {}, not by {role}: ask someone with that role",
                limit.parameter,
                limit.words(),
                limit.who_may_vary.join(", ")
            );
            Err(Problem::new(Reason::NotAllowed, message).fact("limit", &limit.parameter))
        }
    }
}
