//! A deviation stays with what it was found in, and is decided by who may.
//!
//! Whoever works on a project may write one up; the table of roles says who decides. The engineer and
//! the owner decide on any. Office and inspector decide on what they wrote up themselves, and not to let
//! the work stand as it is.

use obvert_access::{Action, Cell, role_word};
use obvert_proto::{
    Problem, Violation,
    acceptance::v1::{Disposition, Nonconformance},
};
use obvert_records::{Named, Writer};

/// Dispositions by which the work stays as it was found.
const LET_STAND: &[Disposition] = &[Disposition::UseAsIs, Disposition::Credit];

pub(super) fn check(found: &Nonconformance, named: &Named) -> Result<(), Problem> {
    let before = named.before::<Nonconformance>().map(|(_, before)| before);
    if let Some(before) = &before {
        keeps_subjects(found, before)?;
    }
    match named.writer() {
        Some(writer) => may_decide(found, before.as_ref(), writer),
        None => Ok(()),
    }
}

/// A wrong subject is settled by a disposition that says so: the file of a segment keeps what was
/// found in it.
fn keeps_subjects(found: &Nonconformance, before: &Nonconformance) -> Result<(), Problem> {
    let lost = before.subjects.iter();
    let lost: Vec<_> = lost
        .filter(|subject| !found.subjects.contains(subject))
        .map(|subject| {
            let message = format!(
                "leaves out {subject}, which it was found in: keep it, and say in the disposition \
                 that it was the wrong one"
            );
            Violation::new("nonconformance.subjects", message)
        })
        .collect();
    if lost.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(lost))
    }
}

fn may_decide(
    found: &Nonconformance,
    before: Option<&Nonconformance>,
    writer: &Writer,
) -> Result<(), Problem> {
    let opened = Nonconformance {
        found_time: found.found_time,
        holds_from_step: found.holds_from_step.clone(),
        ..Nonconformance::default()
    };
    let before = before.unwrap_or(&opened);
    if decision(found) == decision(before) {
        return Ok(());
    }
    let refused = |may_not: &str| {
        let all = Action::Decide.roles();
        let all = all.filter(|role| Action::Decide.cell(*role) == Cell::Allowed);
        let roles: Vec<_> = all.map(role_word).collect();
        let roles = roles.join(", ");
        let message = format!(
            "{} may not {may_not}: ask someone with the role {roles}",
            writer.called()
        );
        Err(writer.refused(message).fact("roles_needed", roles))
    };
    match writer.cell(Action::Decide) {
        Cell::Allowed => Ok(()),
        Cell::Denied => refused("decide on a nonconformance"),
        Cell::Own if LET_STAND.contains(&found.disposition()) => refused("let the work stand"),
        Cell::Own if !writer.is_first => refused("decide on what another wrote up"),
        Cell::Own => Ok(()),
    }
}

/// What a decision is made of, and from which step on the deviation holds.
fn decision(found: &Nonconformance) -> impl PartialEq + '_ {
    (
        (found.disposition, &found.disposed_by, &found.disposed_time),
        (&found.justification, &found.retest_records),
        (&found.close_time, &found.closed_by),
        (&found.found_time, &found.holds_from_step),
    )
}
