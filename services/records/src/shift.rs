//! The key of a crew's day writes the work of its own days: what the schema marks as a time of work
//! lies within them, before a revision and after it.

use jiff::tz::TimeZone;
use obvert_access::Caller;
use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem, pool,
    project::v1::Project,
    rules::{WorkTime, work_times},
};
use prost::Message;
use prost_reflect::DynamicMessage;

use crate::{names, refusal};

/// Lets work pass that was done within the days of the caller's shift, if its key has one.
///
/// A key without a shift is not bound; a record without a time of work is of no day.
///
/// # Errors
///
/// `NOT_ALLOWED` with the first time that lies outside.
pub(crate) async fn within_shift(
    ledger: &Ledger,
    caller: &Caller,
    project: &str,
    message: &DynamicMessage,
) -> Result<(), Problem> {
    let Some(shift) = &caller.shift else {
        return Ok(());
    };
    let day = |date: &Option<obvert_proto::common::v1::LocalDate>| {
        date.as_ref().and_then(|date| date.to_civil())
    };
    let (Some(first), Some(last)) = (day(&shift.first_date), day(&shift.last_date)) else {
        return Err(caller.refused("the key of this shift names no days: ask the office"));
    };
    let zone = time_zone(ledger, project).await?;
    let date_of = |time: WorkTime| match time {
        WorkTime::On(date) => date,
        WorkTime::At(time) => zone.to_datetime(time).date(),
    };
    let mut dates = work_times(message)
        .into_iter()
        .map(|(field, time)| (field, date_of(time)));
    let Some((field, date)) = dates.find(|(_, date)| *date < first || *date > last) else {
        return Ok(());
    };
    let message = format!(
        "{field} is on {date}, the key of {} writes work of {first} to {last}: ask the office to \
         file it",
        caller.principal
    );
    Err(caller
        .refused(message)
        .fact("work_date", date)
        .fact("first_date", first)
        .fact("last_date", last))
}

/// Lets a record pass whose work was done within the days of the caller's shift; one that does not
/// exist passes too, and is told as such later.
///
/// # Errors
///
/// As [`within_shift`].
pub async fn of_own_shift(ledger: &Ledger, caller: &Caller, name: &str) -> Result<(), Problem> {
    if caller.shift.is_none() {
        return Ok(());
    }
    let stored = ledger.get(name.to_owned(), 0).await.map_err(refusal)?;
    match stored.as_ref().and_then(decoded) {
        Some(message) => within_shift(ledger, caller, names::project_of(name), &message).await,
        None => Ok(()),
    }
}

fn decoded(stored: &Stored) -> Option<DynamicMessage> {
    let kind = pool().get_message_by_name(&stored.type_name)?;
    DynamicMessage::decode(kind, stored.body.clone()).ok()
}

async fn time_zone(ledger: &Ledger, project: &str) -> Result<TimeZone, Problem> {
    let name = names::join("", "projects", project);
    let stored = ledger.get(name, 0).await.map_err(refusal)?;
    let project = stored.and_then(|stored| Project::decode(stored.body).ok());
    let zone = project.and_then(|project| TimeZone::get(&project.time_zone).ok());
    Ok(zone.unwrap_or(TimeZone::UTC))
}
