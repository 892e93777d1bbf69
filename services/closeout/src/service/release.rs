//! ReleasePoint: may the caller, is the evidence whole, and the one commit that says so.

use obvert_access::{Action, Caller, role_word, writers};
use obvert_ledger::{Assert, Expect, Ledger, NewEntry};
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{
        PointClass, PointStatus, Record, Release, ReleaseKind, ReleasePointRequest,
        ReleasePointResponse, Verdict, record::Body,
    },
    common::v1::{Reason, RecordMeta, RecordRef, Write},
    project::v1::Role,
};
use obvert_records::{Digest, KindTable, caller_of, check_write, draft, meta, names, refusal};
use prost::Message as _;

use super::lapse;
use crate::{Loaded, load_segment, plan::Point, rules::point_held};

/// Releases a point, or gives a variance.
pub(super) async fn release_point(
    ledger: &Ledger,
    kinds: &KindTable,
    caller: &Caller,
    request: ReleasePointRequest,
    now_ms: i64,
) -> Result<ReleasePointResponse, Problem> {
    let project = names::parse(&request.segment)
        .map_or("", |parts| parts.project)
        .to_owned();
    caller.may(Action::Release, &project)?;
    let write = check_write(request.write.clone())?;
    check_fields(&request)?;
    let digest = digest_of(&request);
    let name = release_name(&project, caller, &write);
    if let Some(stored) = ledger.get(name.clone(), 0).await.map_err(refusal)? {
        // A repeated request is answered as the first time, whatever stands now.
        let role = caller.may(Action::Release, &project)?;
        let entry = NewEntry {
            name: name.clone(),
            type_name: stored.type_name.clone(),
            body: stored.body.clone(),
            refers: stored.refers.clone(),
            claims: Vec::new(),
        };
        let draft = draft(
            &project,
            caller_of(caller, role),
            &write,
            digest,
            now_ms,
            (Vec::new(), vec![entry]),
        );
        let committed = ledger.commit(draft).await.map_err(refusal)?;
        return answer(ledger, &request, &name, committed.revision).await;
    }
    let loaded = load_segment(ledger, &request.segment, 0).await?;
    let point = known_point(&loaded, &request.point)?;
    let status = loaded.status();
    let status = status
        .points
        .into_iter()
        .find(|status| status.point == point.id);
    let status = status.ok_or_else(|| unknown_point(&loaded, &request.point))?;
    let role = may_release(caller, &project, point, &request)?;
    let mut evidence: Vec<RecordRef> = status
        .evidence
        .iter()
        .filter_map(|used| used.record.clone())
        .collect();
    match request.release_kind() {
        ReleaseKind::Variance => may_vary(&loaded, point, &status, role)?,
        ReleaseKind::Lapse => evidence.push(lapse::proof(&loaded, point, &status, now_ms)?),
        _ => is_whole(&loaded, caller, point, &status)?,
    }
    let release = Release {
        segment: request.segment.clone(),
        point: point.id.clone(),
        release_kind: request.release_kind,
        plan: Some(loaded.plan_ref.clone()),
        facts_digest: status.facts_digest.clone(),
        evidence,
        note: request.note.clone(),
        valid_until_date: request.valid_until_date,
    };
    if write.validate_only {
        let meta = Some(RecordMeta {
            name,
            ..RecordMeta::default()
        });
        return Ok(ReleasePointResponse {
            meta,
            release: Some(release),
            status: Some(status),
        });
    }
    let record = Record {
        meta: None,
        body: Some(Body::Release(release)),
    };
    let (kind, body) = kinds.split(&record)?;
    let entry = NewEntry {
        name: name.clone(),
        type_name: kind.kind.type_name.clone(),
        body,
        refers: vec![request.segment.clone()],
        claims: Vec::new(),
    };
    let asserts = vec![Assert {
        name: name.clone(),
        expect: Expect::Absent,
    }];
    let draft = draft(
        &project,
        caller_of(caller, role),
        &write,
        digest,
        now_ms,
        (asserts, vec![entry]),
    );
    let committed = ledger.commit(draft).await.map_err(refusal)?;
    answer(ledger, &request, &name, committed.revision).await
}

fn check_fields(request: &ReleasePointRequest) -> Result<(), Problem> {
    let mut wrong: Vec<Violation> = names::check_name("segment", &request.segment)
        .into_iter()
        .collect();
    if request.point.is_empty() {
        wrong.push(Violation::new(
            "point",
            "is missing: name a point of the plan",
        ));
    }
    let variance = request.release_kind() == ReleaseKind::Variance;
    if request.release_kind() == ReleaseKind::Unspecified {
        wrong.push(Violation::new(
            "release_kind",
            "is not said: release, variance or lapse",
        ));
    }
    if variance && request.note.trim().is_empty() {
        wrong.push(Violation::new(
            "note",
            "is missing: say why the variance is given",
        ));
    }
    if request.note.chars().count() > 2000 {
        wrong.push(Violation::new(
            "note",
            "has more than 2000 characters: shorten it",
        ));
    }
    let until = request.valid_until_date.as_ref();
    if until.is_some() && !variance {
        wrong.push(Violation::new(
            "valid_until_date",
            "is for a variance only: leave it out",
        ));
    }
    if until.is_some_and(|until| until.to_civil().is_none()) {
        wrong.push(Violation::new(
            "valid_until_date",
            "is no day of the calendar: correct it",
        ));
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

fn digest_of(request: &ReleasePointRequest) -> [u8; 32] {
    let body = ReleasePointRequest {
        write: None,
        ..request.clone()
    };
    Digest::default()
        .part(b"ReleasePoint")
        .part(&body.encode_to_vec())
        .finish()
}

/// Name of the release that a request makes: the same for the same principal and request id.
fn release_name(project: &str, caller: &Caller, write: &Write) -> String {
    let digest = Digest::default()
        .part(caller.principal.as_bytes())
        .part(write.request_id.as_bytes())
        .finish();
    let id: String = digest
        .iter()
        .take(10)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    names::join(project, "releases", &format!("r-{id}"))
}

fn known_point<'a>(loaded: &'a Loaded, id: &str) -> Result<&'a Point, Problem> {
    loaded
        .plan
        .point(id)
        .ok_or_else(|| unknown_point(loaded, id))
}

fn unknown_point(loaded: &Loaded, id: &str) -> Problem {
    let known: Vec<_> = loaded
        .plan
        .points
        .iter()
        .map(|point| point.id.as_str())
        .collect();
    let message = format!(
        "is \"{id}\", which is no point of {}@{}: one of {}",
        loaded.plan_ref.name,
        loaded.plan_ref.revision,
        known.join(", ")
    );
    Problem::fields(vec![Violation::new("point", message)])
}

/// Role under which the caller may do it by the plan.
fn may_release(
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
    let bindings = caller
        .bindings
        .iter()
        .filter(|b| b.project == "*" || b.project == project);
    let mut held = bindings.map(|binding| binding.role());
    let fits =
        |role: &Role| writers("releases").contains(role) && roles.contains(&role_word(*role));
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
        Problem::new(Reason::NotAllowed, message)
            .fact("principal", &caller.principal)
            .fact("point", &point.id)
            .fact("roles_needed", needed)
    })
}

fn is_whole(
    loaded: &Loaded,
    caller: &Caller,
    point: &Point,
    status: &PointStatus,
) -> Result<(), Problem> {
    if status.verdict() != Verdict::Released || status.findings.iter().any(|finding| finding.holds)
    {
        return Err(point_held(status));
    }
    let recorded = |used: &&obvert_proto::closeout::v1::EvidenceUsed| {
        used.record.as_ref().is_some_and(|record| {
            let mut stored = loaded.gathered.records.iter();
            stored.any(|s| s.name == record.name && s.caller.principal == caller.principal)
        })
    };
    // A segment's own record is no result; whoever registered it may accept it.
    let result = |used: &&obvert_proto::closeout::v1::EvidenceUsed| used.evidence_kind != "segment";
    let own = status.evidence.iter().filter(result).find(recorded);
    match own.filter(|_| !point.self_release) {
        None => Ok(()),
        Some(own) => {
            let record = own.record.clone().unwrap_or_default();
            let message = format!(
                "{} recorded {} and may not release point {} on it: ask another person",
                caller.principal, record.name, point.id
            );
            Err(Problem::new(Reason::NotAllowed, message)
                .fact("principal", &caller.principal)
                .fact("record", record.name)
                .fact("point", &point.id))
        }
    }
}

/// A variance is for evidence that holds, not for order of work, and within what the limits allow.
fn may_vary(
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

async fn answer(
    ledger: &Ledger,
    request: &ReleasePointRequest,
    name: &str,
    revision: i64,
) -> Result<ReleasePointResponse, Problem> {
    let stored = ledger
        .get(name.to_owned(), revision)
        .await
        .map_err(refusal)?;
    let stored = stored.ok_or_else(|| {
        refusal(obvert_ledger::LedgerError::NotFound {
            name: name.to_owned(),
        })
    })?;
    let release = Release::decode(stored.body.clone()).ok();
    let status = load_segment(ledger, &request.segment, revision)
        .await?
        .status();
    let status = status
        .points
        .into_iter()
        .find(|status| status.point == request.point);
    Ok(ReleasePointResponse {
        meta: Some(meta(&stored)),
        release,
        status,
    })
}
