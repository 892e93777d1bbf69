//! ReleasePoint: may the caller, is the evidence whole, and the one commit that says so.

use obvert_access::{Action, Caller};
use obvert_ledger::{Assert, Expect, Ledger, NewEntry};
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{
        PointStatus, Record, Release, ReleaseKind, ReleasePointRequest, ReleasePointResponse,
        record::Body,
    },
    common::v1::{RecordMeta, RecordRef, Write},
    project::v1::Role,
    rules,
};
use obvert_records::{Digest, KindTable, caller_of, check_write, draft, meta, names, refusal};
use obvert_tables::did_you_mean;
use prost::Message as _;

use super::{
    allowed::{is_another_s, is_open, is_whole, may_release, may_vary},
    lapse,
};
use crate::{Loaded, load_segment, plan::Point, witness};

/// Longest note.
const NOTE_CHARS: usize = 2000;

/// Releases a point, or gives a variance.
pub(super) async fn release_point(
    ledger: &Ledger,
    kinds: &KindTable,
    caller: &Caller,
    request: ReleasePointRequest,
    now_ms: i64,
) -> Result<ReleasePointResponse, Problem> {
    let project = names::project_of(&request.segment).to_owned();
    let action = action_of(&request);
    caller.may(action, &project)?;
    let write = check_write(request.write.clone())?;
    check_fields(&request)?;
    let name = release_name(&project, caller, &write);
    let act = Act {
        ledger,
        caller,
        project,
        write,
        name,
        now_ms,
    };
    if let Some(stored) = ledger.get(act.name.clone(), 0).await.map_err(refusal)? {
        // A repeated request is answered as the first time, whatever stands now.
        let role = caller.may(action, &act.project)?;
        let entry = NewEntry {
            name: stored.name,
            type_name: stored.type_name,
            body: stored.body,
            refers: stored.refers,
            claims: Vec::new(),
        };
        return act.commit(&request, role, Vec::new(), entry).await;
    }
    let loaded = load_segment(ledger, &request.segment, 0).await?;
    let (release, status, role) = decided(&act, &loaded, &request)?;
    if act.write.validate_only {
        let meta = RecordMeta {
            name: act.name,
            ..RecordMeta::default()
        };
        let (meta, release, status) = (Some(meta), Some(release), Some(status));
        return Ok(ReleasePointResponse {
            meta,
            release,
            status,
        });
    }
    let record = Record {
        meta: None,
        body: Some(Body::Release(release)),
    };
    let (kind, body) = kinds.split(&record)?;
    let entry = NewEntry {
        name: act.name.clone(),
        type_name: kind.kind.type_name.clone(),
        body,
        refers: vec![request.segment.clone()],
        claims: Vec::new(),
    };
    let asserts = vec![Assert {
        name: act.name.clone(),
        expect: Expect::Absent,
    }];
    act.commit(&request, role, asserts, entry).await
}

/// One request that is being answered.
struct Act<'a> {
    ledger: &'a Ledger,
    caller: &'a Caller,
    project: String,
    write: Write,
    name: String,
    now_ms: i64,
}

impl Act<'_> {
    async fn commit(
        &self,
        request: &ReleasePointRequest,
        role: Role,
        asserts: Vec<Assert>,
        entry: NewEntry,
    ) -> Result<ReleasePointResponse, Problem> {
        let caller = caller_of(self.caller, role);
        let digest = digest_of(request);
        let content = (asserts, vec![entry]);
        let draft = draft(
            &self.project,
            caller,
            &self.write,
            digest,
            self.now_ms,
            content,
        );
        let committed = self.ledger.commit(draft).await.map_err(refusal)?;
        answer(self.ledger, request, &self.name, committed.revision).await
    }
}

/// The release that the evidence and the plan allow, with the point as it stands before it.
fn decided(
    act: &Act<'_>,
    loaded: &Loaded,
    request: &ReleasePointRequest,
) -> Result<(Release, PointStatus, Role), Problem> {
    let point = known_point(loaded, &request.point)?;
    // An act judges by its own time: what ran out since the last commit stands no more.
    let mut points = loaded.status_at(act.now_ms).points.into_iter();
    let status = points.find(|status| status.point == point.id);
    let status = status.ok_or_else(|| unknown_point(loaded, &request.point))?;
    let role = may_release(act.caller, &act.project, point, request)?;
    is_not_over(act, loaded, request)?;
    let mut facts_digest = status.facts_digest.clone();
    let used = status
        .evidence
        .iter()
        .filter_map(|used| used.record.clone());
    let mut evidence: Vec<RecordRef> = used.collect();
    match request.release_kind() {
        ReleaseKind::Variance => {
            may_vary(loaded, point, &status, role)?;
            is_another_s(loaded, act.caller, point, &status)?;
        }
        ReleaseKind::Lapse => {
            is_open(point, &status)?;
            let notice = lapse::proof(loaded, point, &status, act.now_ms)?;
            evidence.push(notice.record());
            let digest = witness::lapse_digest(&loaded.file, point, &facts_digest, &notice.name);
            facts_digest = digest.map_or(facts_digest, Vec::from);
        }
        _ => {
            is_open(point, &status)?;
            is_whole(&status)?;
            is_another_s(loaded, act.caller, point, &status)?;
        }
    }
    let release = Release {
        segment: request.segment.clone(),
        point: point.id.clone(),
        release_kind: request.release_kind,
        plan: Some(loaded.plan_ref.clone()),
        facts_digest,
        evidence,
        note: request.note.clone(),
        valid_until_date: request.valid_until_date,
    };
    Ok((release, status, role))
}

/// A variance that is over before it is given would stand on file without effect.
fn is_not_over(
    act: &Act<'_>,
    loaded: &Loaded,
    request: &ReleasePointRequest,
) -> Result<(), Problem> {
    let today = loaded.file.local_date(act.now_ms);
    let until = request.valid_until_date.as_ref();
    match until.and_then(|until| until.to_civil()) {
        Some(until) if until < today => {
            let message = format!("is {until}, today is {today} on site: give a day to come");
            let wrong = Violation::new("valid_until_date", message);
            Err(Problem::fields(vec![wrong]))
        }
        _ => Ok(()),
    }
}

/// What the request asks to do: a variance has a row of its own in the table of roles.
pub(super) fn action_of(request: &ReleasePointRequest) -> Action<'static> {
    match request.release_kind() {
        ReleaseKind::Variance => Action::Vary,
        _ => Action::Release,
    }
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
    let length = request.note.chars().count();
    if length > NOTE_CHARS {
        let message = format!("has {length} characters, at most {NOTE_CHARS} fit: shorten it");
        wrong.push(Violation::new("note", message));
    }
    if rules::has_control(&request.note) {
        wrong.push(Violation::new(
            "note",
            "holds control characters: remove them",
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
    let near = did_you_mean(id, known.iter().copied());
    let message = format!(
        "is \"{id}\", which is no point of {}@{}: one of {}{near}",
        loaded.plan_ref.name,
        loaded.plan_ref.revision,
        known.join(", ")
    );
    Problem::fields(vec![Violation::new("point", message)])
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
