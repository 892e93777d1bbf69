//! Acts of a caller on a build that exists: to give it up, and to go on with one that stopped.

use std::sync::Arc;

use obvert_access::{Action, Caller};
use obvert_ledger::{Expect, Ledger, LedgerError};
use obvert_proto::{
    Problem,
    closeout::v1::{Build, BuildState, BuildStatus, CancelBuildRequest, ResumeBuildRequest},
    common::v1::{Reason, Write},
    project::v1::Role,
};
use obvert_records::{caller_of, check_request, check_write, draft, message_of, names};

use super::{busy, digest, entry, kept, run, status};
use crate::package::{Press, make::keyed};

/// What an act makes of which builds.
struct Turn {
    act: &'static [u8],
    from: &'static [BuildState],
    to: BuildState,
    /// Why a build of another state is refused, after its name.
    refused: &'static str,
}

const CANCEL: Turn = Turn {
    act: b"CancelBuild",
    from: &[BuildState::Running, BuildState::Stopped],
    to: BuildState::Cancelled,
    refused: "has ended: only a build under way is given up",
};
const GO_ON: Turn = Turn {
    act: b"ResumeBuild",
    from: &[BuildState::Stopped],
    to: BuildState::Running,
    refused: "did not stop: only a build that stopped is resumed",
};

/// Gives a build up; the packages that it made stay.
///
/// # Errors
///
/// `NOT_ALLOWED`, `RECORD_NOT_FOUND`, `ACT_REFUSED` for a build that has ended.
pub(crate) async fn cancel(
    ledger: &Ledger,
    caller: &Caller,
    request: CancelBuildRequest,
    now_ms: i64,
) -> Result<BuildStatus, Problem> {
    let role = caller.may(Action::Assemble, names::project_of(&request.name))?;
    check_request(&request)?;
    let write = check_write(request.write)?;
    let by = (caller, role);
    let (status, _) = turned(ledger, by, &request.name, write, &CANCEL, now_ms).await?;
    Ok(status)
}

/// Goes on with a build that stopped, in the name of the caller.
///
/// # Errors
///
/// `NOT_ALLOWED`, `RECORD_NOT_FOUND`, `ACT_REFUSED` for a build that did not stop, `CLAIM_TAKEN` while
/// the project has another under way.
pub(crate) async fn go_on(
    ledger: &Ledger,
    press: Option<Arc<Press>>,
    caller: &Caller,
    request: ResumeBuildRequest,
    now_ms: i64,
) -> Result<BuildStatus, Problem> {
    let role = caller.may(Action::Assemble, names::project_of(&request.name))?;
    check_request(&request)?;
    let write = check_write(request.write)?;
    let press = keyed(press)?;
    let name = request.name;
    let turned = turned(ledger, (caller, role), &name, write, &GO_ON, now_ms).await?;
    let (status, is_new) = turned;
    if is_new {
        tokio::spawn(run::run(ledger.clone(), press, name));
    }
    Ok(status)
}

/// The build after an act, and whether the act was new.
async fn turned(
    ledger: &Ledger,
    (caller, role): (&Caller, Role),
    name: &str,
    write: Write,
    turn: &Turn,
    now_ms: i64,
) -> Result<(BuildStatus, bool), Problem> {
    let digest = digest(turn.act, name, &[], false, &write);
    loop {
        let stored = kept(ledger, name).await?;
        let mut build: Build = message_of(&stored)?;
        let ours = stored.reason == write.reason && stored.caller.principal == caller.principal;
        if build.state() == turn.to && ours {
            return Ok((status(&stored)?, false));
        }
        if !turn.from.contains(&build.state()) {
            let message = format!("{name} {}", turn.refused);
            return Err(Problem::new(Reason::ActRefused, message).fact("name", name));
        }
        if write.validate_only {
            return Ok((status(&stored)?, false));
        }
        build.set_state(turn.to);
        build.stop_reason.clear();
        let (assert, entry) = entry(name, &build, Expect::Revision(stored.revision));
        let draft = draft(
            names::project_of(name),
            caller_of(caller, role),
            &write,
            digest,
            now_ms,
            (vec![assert], vec![entry]),
        );
        match ledger.commit(draft).await {
            Ok(done) => return Ok((status(&kept(ledger, name).await?)?, !done.replayed)),
            // The build went on by a package meanwhile.
            Err(LedgerError::Stale { .. }) => {}
            Err(error) => return Err(busy(error)),
        }
    }
}
