//! The key of a crew's day: role crew, one project, the work of its own days, ending after the shift.

use jiff::{Timestamp, ToSpan, civil::Time, tz::TimeZone};
use obvert_access::{Caller, Grant};
use obvert_ledger::LedgerError;
use obvert_proto::{
    Problem, Violation,
    common::v1::{LocalDate, Write},
    dates::from_unix_ms,
    project::v1::{ApiKey, CreateCrewKeyRequest, Project, Role, RoleBinding, Shift},
};
use obvert_records::{Digest, names, refusal};
use prost::{Message, Name};

use crate::{
    bootstrap::{DAY_MS, secret},
    keys::{KeyRing, NewKey, shown_secret},
};

/// Time after a shift in which its last records are filed.
const GRACE_MS: i64 = 3_600_000;
/// How far ahead a shift may end.
const AHEAD_DAYS: i64 = 14;

/// Where a key signs in: behind the "#", which a browser neither sends nor refers to.
const SIGN_IN: &str = "/sign-in#";

/// Makes the key of a crew's day; returns its name, its secret, what is kept of it and where it
/// signs in.
pub(crate) async fn create(
    ring: &KeyRing,
    (caller, grant): (&Caller, Grant),
    write: &Write,
    request: &CreateCrewKeyRequest,
    (random, now_ms): ([u8; 32], i64),
) -> Result<(String, String, ApiKey, String), Problem> {
    let project = project(ring, &request.project).await?;
    let (shift, end_ms) = shift(request, &project.time_zone, now_ms)?;
    let (secret, secret_sha256) = secret(random)?;
    let new = NewKey {
        key_id: request.key_id.clone(),
        key: ApiKey {
            principal: format!("crew/{}", request.key_id),
            secret_sha256,
            bindings: vec![RoleBinding {
                project: request.project.clone(),
                role: Role::Crew.into(),
            }],
            expire_time: Some(from_unix_ms(end_ms + GRACE_MS)),
            revoke_time: None,
            shift: Some(shift),
        },
        digest: Digest::default().part(&request.encode_to_vec()).finish(),
        old: None,
    };
    let (name, key) = ring.commit((caller, grant), write, new, now_ms).await?;
    let secret = shown_secret(write, secret);
    let path = format!("{SIGN_IN}{secret}");
    Ok((name, secret, key, path))
}

async fn project(ring: &KeyRing, id: &str) -> Result<Project, Problem> {
    let name = names::join("", "projects", id);
    let stored = ring.ledger().get(name.clone(), 0).await.map_err(refusal)?;
    let stored = stored.filter(|stored| stored.type_name == Project::full_name());
    let project = stored.and_then(|stored| Project::decode(stored.body).ok());
    project.ok_or_else(|| refusal(LedgerError::NotFound { name }))
}

/// Days of a shift and when it ends, in the time zone of the site.
fn shift(
    request: &CreateCrewKeyRequest,
    time_zone: &str,
    now_ms: i64,
) -> Result<(Shift, i64), Problem> {
    let mut wrong: Vec<_> = names::check_id("key_id", &request.key_id)
        .into_iter()
        .collect();
    let first = request.work_date.as_ref().and_then(LocalDate::to_civil);
    if first.is_none() {
        wrong.push(Violation::new(
            "work_date",
            "is no day of the calendar: correct it",
        ));
    }
    let end = Time::strptime("%H:%M", &request.end_time_of_day).ok();
    if end.is_none() {
        let text = &request.end_time_of_day;
        let message = format!("is \"{text}\": write hours and minutes, such as 18:00");
        wrong.push(Violation::new("end_time_of_day", message));
    }
    let (Some(first), Some(end)) = (first, end) else {
        return Err(Problem::fields(wrong));
    };
    let last = if request.ends_next_day {
        first.saturating_add(1.day())
    } else {
        first
    };
    let zone = TimeZone::get(time_zone).unwrap_or(TimeZone::UTC);
    let end_ms = zone
        .to_timestamp(last.to_datetime(end))
        .map_or(0, |end| end.as_millisecond());
    let most = now_ms + AHEAD_DAYS * DAY_MS;
    if end_ms <= now_ms || end_ms > most {
        let at = Timestamp::from_millisecond(end_ms).unwrap_or_default();
        let message = format!(
            "ends the shift at {at}: it must lie ahead, and no more than {AHEAD_DAYS} days"
        );
        wrong.push(Violation::new("end_time_of_day", message));
    }
    if !wrong.is_empty() {
        return Err(Problem::fields(wrong));
    }
    let shift = Shift {
        first_date: Some(LocalDate::from_civil(first)),
        last_date: Some(LocalDate::from_civil(last)),
    };
    Ok((shift, end_ms))
}
