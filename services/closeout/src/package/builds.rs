//! Packages of many segments as one piece of long work, kept as a record.
//!
//! [`start`] commits the build; [`run`](run::run) makes the packages, each in one commit with the
//! build's progress; [`watch`] streams that record; [`cancel`] writes its last state. After a restart
//! [`resume`] finds what is under way and goes on: the id of a package follows from build and
//! segment, so that none is made twice. A build works in the name of who began it, and stops when
//! that principal may not any more; [`go_on`] takes it up in another name.

mod run;
mod turn;

use std::{sync::Arc, time::Duration};

use futures::stream;
use obvert_access::{Action, Caller};
use obvert_ledger::{Assert, Expect, Ledger, LedgerError, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{Build, BuildState, BuildStatus, StartBuildRequest, WatchBuildRequest},
    common::v1::{Reason, Write},
};
use obvert_records::{
    Answers, Digest, caller_of, check_request, check_write, draft, message_of, meta, names, refusal,
};
use prost::{Message, Name};

use super::{Press, hex, make::keyed};

pub(crate) use turn::{cancel, go_on};

/// Collection of builds.
const COLLECTION: &str = "builds";
/// Claim of a running build, so that a project has one at a time.
const RUNNING: &str = "running-build";
/// A silent stream says this often that it lives.
const HEARTBEAT: Duration = Duration::from_secs(20);
/// Builds and segments listed at once.
const PAGE: usize = 500;

/// Commits a build and begins with it. The same request finds the build that it began.
///
/// # Errors
///
/// `NOT_ALLOWED`, `FIELDS_INVALID`, `CLAIM_TAKEN` while the project has a build under way.
pub(crate) async fn start(
    ledger: &Ledger,
    press: Option<Arc<Press>>,
    caller: &Caller,
    request: StartBuildRequest,
    now_ms: i64,
) -> Result<BuildStatus, Problem> {
    let role = caller.may(Action::Assemble, &request.project)?;
    check_request(&request)?;
    let StartBuildRequest {
        write,
        project,
        segments,
        with_people,
    } = request;
    let write = check_write(write)?;
    let press = keyed(press)?;
    let segments = known(ledger, &project, segments).await?;
    let total = match segments.len() {
        0 => run::all_segments(ledger, &project, 0).await?.len(),
        named => named,
    };
    let name = build_name(&project, caller, &write);
    let build = Build {
        segments,
        project_revision: ledger
            .head(project.clone())
            .await
            .map_err(refusal)?
            .revision,
        with_people,
        state: BuildState::Running.into(),
        total_count: total as i32,
        ..Build::default()
    };
    let digest = digest(b"StartBuild", &name, &build.segments, with_people, &write);
    let (assert, entry) = entry(&name, &build, Expect::Absent);
    let caller = caller_of(caller, role);
    if write.validate_only {
        return Ok(BuildStatus {
            meta: None,
            build: Some(build),
        });
    }
    let draft = draft(
        &project,
        caller,
        &write,
        digest,
        now_ms,
        (vec![assert], vec![entry]),
    );
    let committed = ledger.commit(draft).await.map_err(busy)?;
    let stored = kept(ledger, &name).await?;
    if !committed.replayed {
        tokio::spawn(run::run(ledger.clone(), press, name));
    }
    status(&stored)
}

/// Streams where a build stands until it has ended.
///
/// # Errors
///
/// `NOT_ALLOWED` or `RECORD_NOT_FOUND`.
pub(crate) async fn watch(
    ledger: Ledger,
    caller: &Caller,
    request: WatchBuildRequest,
) -> Result<Answers<BuildStatus>, Problem> {
    caller.may(Action::ReadStatus, names::project_of(&request.name))?;
    let name = request.name;
    kept(&ledger, &name).await?;
    let start = (ledger.clone(), name, Some(0), ledger.watch());
    let states = stream::try_unfold(start, |(ledger, name, seen, mut ticks)| async move {
        let Some(seen) = seen else {
            return Ok(None);
        };
        let quiet = tokio::time::sleep(HEARTBEAT);
        tokio::pin!(quiet);
        loop {
            ticks.borrow_and_update();
            let stored = kept(&ledger, &name).await?;
            if stored.revision != seen {
                let status = status(&stored)?;
                let after = runs(&status).then_some(stored.revision);
                return Ok(Some((status, (ledger, name, after, ticks))));
            }
            tokio::select! {
                changed = ticks.changed() => if changed.is_err() { return Ok(None) },
                () = &mut quiet => {
                    return Ok(Some((status(&stored)?, (ledger, name, Some(seen), ticks))));
                }
            }
        }
    });
    Ok(Box::pin(states))
}

/// Goes on with every build that was under way when the server stopped.
pub(crate) async fn resume(ledger: &Ledger, press: &Arc<Press>) -> Result<(), Problem> {
    for project in ledger.projects().await.map_err(refusal)? {
        let mut after = None;
        loop {
            let page = ledger.list(project.clone(), COLLECTION.to_owned(), after, PAGE, 0);
            let page = page.await.map_err(refusal)?;
            for stored in page
                .items
                .iter()
                .filter(|s| s.claims.contains(&RUNNING.to_owned()))
            {
                tracing::info!(build = stored.name, "going on with a build");
                tokio::spawn(run::run(
                    ledger.clone(),
                    Arc::clone(press),
                    stored.name.clone(),
                ));
            }
            after = page.next;
            if after.is_none() {
                break;
            }
        }
    }
    Ok(())
}

/// Refusal of a commit; while another build is under way, what to do about that one.
fn busy(error: LedgerError) -> Problem {
    match &error {
        LedgerError::ClaimTaken { holder, .. } => {
            let message = format!(
                "{holder} is under way, and a project makes one build at a time: wait for it, or \
                 cancel it"
            );
            let holder = holder.clone();
            Problem::new(Reason::ClaimTaken, message).fact("holder", holder)
        }
        _ => refusal(error),
    }
}

/// Segments that were asked for, each once, in order; every one must exist in the project.
async fn known(
    ledger: &Ledger,
    project: &str,
    mut segments: Vec<String>,
) -> Result<Vec<String>, Problem> {
    segments.sort();
    segments.dedup();
    let found = ledger
        .get_many(segments.clone(), 0)
        .await
        .map_err(refusal)?;
    let is_here = |name: &String| {
        names::parse(name).is_some_and(|p| p.project == project && p.collection == "segments")
            && found.iter().any(|stored| stored.name == *name)
    };
    let strangers = segments.iter().filter(|name| !is_here(name));
    let wrong: Vec<_> = strangers
        .map(|name| {
            let message = format!("{name} is no segment of project {project}: check the name");
            Violation::new("segments", message)
        })
        .collect();
    if wrong.is_empty() {
        Ok(segments)
    } else {
        Err(Problem::fields(wrong))
    }
}

fn build_name(project: &str, caller: &Caller, write: &Write) -> String {
    let digest = Digest::default()
        .part(caller.principal.as_bytes())
        .part(write.request_id.as_bytes())
        .finish();
    names::join(project, COLLECTION, &format!("b-{}", hex(&digest[..10])))
}

fn digest(
    what: &[u8],
    name: &str,
    segments: &[String],
    with_people: bool,
    write: &Write,
) -> [u8; 32] {
    let all = Digest::default()
        .part(what)
        .part(name.as_bytes())
        .part(&[u8::from(with_people)])
        .part(write.reason.as_bytes());
    let parts = segments.iter();
    parts
        .fold(all, |all, segment| all.part(segment.as_bytes()))
        .finish()
}

/// A state of a build as a commit takes it. It refers to no segment: it is no evidence of one.
fn entry(name: &str, build: &Build, expect: Expect) -> (Assert, NewEntry) {
    let runs = build.state() == BuildState::Running;
    let assert = Assert {
        name: name.to_owned(),
        expect,
    };
    let entry = NewEntry {
        name: name.to_owned(),
        type_name: Build::full_name(),
        body: build.encode_to_vec().into(),
        refers: Vec::new(),
        claims: if runs {
            vec![RUNNING.to_owned()]
        } else {
            Vec::new()
        },
    };
    (assert, entry)
}

/// Latest state of a build.
async fn kept(ledger: &Ledger, name: &str) -> Result<Stored, Problem> {
    let stored = ledger.get(name.to_owned(), 0).await.map_err(refusal)?;
    let is_build = |stored: &Stored| stored.type_name == Build::full_name();
    let absent = || {
        refusal(LedgerError::NotFound {
            name: name.to_owned(),
        })
    };
    stored.filter(is_build).ok_or_else(absent)
}

fn status(stored: &Stored) -> Result<BuildStatus, Problem> {
    Ok(BuildStatus {
        meta: Some(meta(stored)),
        build: Some(message_of(stored)?),
    })
}

fn runs(status: &BuildStatus) -> bool {
    let build = status.build.as_ref();
    build.is_some_and(|build| build.state() == BuildState::Running)
}
