//! The work of a build: every segment in turn, some at once, each package with the progress in one
//! commit.

use std::sync::Arc;

use futures::{StreamExt, stream};
use obvert_access::{Action, Keys};
use obvert_ledger::{Caller, Draft, Expect, Ledger, LedgerError, Stored};
use obvert_proto::{
    Problem,
    closeout::v1::{Build, BuildGap, BuildState, Package},
};
use obvert_records::{Digest, message_of, names, now_ms, refusal};

use super::{PAGE, kept};
use crate::{
    FirstHeld, load_segment,
    package::{
        Press, hex,
        make::{builders, entry, made},
    },
};

/// Segments without a package after which progress is committed all the same.
const QUIET: i32 = 25;

/// What became of one segment.
enum Outcome {
    /// A package that an earlier server committed.
    Known,
    /// A package that is stored and awaits its commit, under this name.
    Made(String, Box<Package>),
    /// None, and why.
    Gap(BuildGap),
}

/// Why a build goes no further here.
enum Stop {
    /// Somebody gave it up.
    Cancelled,
    /// In whose name it works may not any more, and why.
    Revoked(String),
    /// The store takes no more; another server goes on.
    Store(Problem),
}

/// What a build makes, and in whose name.
struct Order<'a> {
    ledger: &'a Ledger,
    press: &'a Arc<Press>,
    keys: Keys,
    name: &'a str,
    build: &'a Build,
    principal: &'a str,
}

/// Works on a build until it ends, stops, is given up, or the store closes.
pub(super) async fn run(ledger: Ledger, press: Arc<Press>, name: String) {
    match work(&ledger, &press, &name).await {
        Ok(()) => tracing::info!(build = name, "a build is done"),
        Err(Stop::Cancelled) => tracing::info!(build = name, "a build was given up"),
        Err(Stop::Revoked(why)) => tracing::warn!(build = name, why, "a build stopped"),
        Err(Stop::Store(problem)) => {
            tracing::warn!(build = name, %problem.message, "a build stopped; a restart goes on");
        }
    }
}

/// Names of all segments of a project at a revision, in order.
pub(super) async fn all_segments(
    ledger: &Ledger,
    project: &str,
    at: i64,
) -> Result<Vec<String>, Problem> {
    let (mut all, mut after) = (Vec::new(), None);
    loop {
        let page = ledger.list(project.to_owned(), "segments".to_owned(), after, PAGE, at);
        let page = page.await.map_err(refusal)?;
        all.extend(page.items.into_iter().map(|stored| stored.name));
        after = page.next;
        if after.is_none() {
            return Ok(all);
        }
    }
}

async fn work(ledger: &Ledger, press: &Arc<Press>, name: &str) -> Result<(), Stop> {
    let stored = kept(ledger, name).await.map_err(Stop::Store)?;
    let build: Build = message_of(&stored).map_err(Stop::Store)?;
    let at = build.project_revision;
    let segments = match build.segments.as_slice() {
        [] => all_segments(ledger, names::project_of(name), at).await,
        named => Ok(named.to_vec()),
    };
    let segments = segments.map_err(Stop::Store)?;
    let mut progress = Progress {
        ledger,
        name,
        build: Build {
            done_count: 0,
            package_count: 0,
            ..build.clone()
        },
        committed: stored.clone(),
        said: build.done_count,
        gaps: Vec::new(),
    };
    let order = Order {
        ledger,
        press,
        keys: Keys::new(ledger.clone()),
        name,
        build: &build,
        principal: &stored.caller.principal,
    };
    let outcomes = stream::iter(segments).map(|segment| outcome(&order, segment));
    let mut outcomes = Box::pin(outcomes.buffered(builders()));
    while let Some(outcome) = outcomes.next().await {
        // Others were made side by side with the one that met the end of the right to it.
        match order.check().await.and(outcome) {
            Ok(outcome) => progress.take(outcome).await?,
            Err(Stop::Revoked(why)) => return progress.stop(why).await,
            Err(stop) => return Err(stop),
        }
    }
    progress.end().await
}

impl Order<'_> {
    /// Whether in whose name this works may still assemble packages.
    async fn check(&self) -> Result<(), Stop> {
        let store = |error| Stop::Store(refusal(error));
        self.keys.refresh().await.map_err(store)?;
        let project = names::project_of(self.name);
        let may = self
            .keys
            .may_still(self.principal, Action::Assemble, project, now_ms());
        may.map_err(|problem| Stop::Revoked(problem.message))
    }
}

/// Makes the package of a segment, unless it is made or held.
async fn outcome(order: &Order<'_>, segment: String) -> Result<Outcome, Stop> {
    let Order {
        ledger,
        press,
        build,
        name,
        ..
    } = order;
    order.check().await?;
    let package = package_name(name, &segment);
    let known = ledger.get(package.clone(), 0).await;
    let known = known.map_err(|error| Stop::Store(refusal(error)))?;
    if known.is_some() {
        return Ok(Outcome::Known);
    }
    let gap = |reason: String, failed: bool| {
        Outcome::Gap(BuildGap {
            segment: segment.clone(),
            reason,
            failed,
        })
    };
    let loaded = match load_segment(ledger, &segment, build.project_revision).await {
        Ok(loaded) => loaded,
        Err(problem) => return Ok(gap(problem.to_string(), true)),
    };
    for status in [loaded.status(), loaded.status_at(now_ms())] {
        if !status.accepted {
            let held = FirstHeld::of(&status);
            let why = held.map_or("held".to_owned(), |held| held.words());
            return Ok(gap(why, false));
        }
    }
    match made(ledger, press, loaded, build.with_people, |_, _| {}).await {
        Ok(made) => {
            let made = Package {
                build: (*name).to_owned(),
                ..made
            };
            Ok(Outcome::Made(package, Box::new(made)))
        }
        Err(problem) => Ok(gap(problem.to_string(), true)),
    }
}

/// Name of the package of a segment, the same whoever makes it.
fn package_name(build: &str, segment: &str) -> String {
    let digest = Digest::default()
        .part(build.as_bytes())
        .part(segment.as_bytes())
        .finish();
    let id = format!("p-{}", hex(&digest[..12]));
    names::join(names::project_of(build), "packages", &id)
}

/// A build as far as it is, and what is committed of it.
struct Progress<'a> {
    ledger: &'a Ledger,
    name: &'a str,
    build: Build,
    committed: Stored,
    /// Segments dealt with, as committed.
    said: i32,
    gaps: Vec<BuildGap>,
}

impl Progress<'_> {
    async fn take(&mut self, outcome: Outcome) -> Result<(), Stop> {
        self.build.done_count += 1;
        match outcome {
            Outcome::Known => {
                self.build.package_count += 1;
                Ok(())
            }
            Outcome::Made(name, package) => {
                self.build.package_count += 1;
                self.commit(Some((name, package))).await
            }
            Outcome::Gap(gap) => {
                self.gaps.push(gap);
                if self.build.done_count < self.said + QUIET {
                    return Ok(());
                }
                self.commit(None).await
            }
        }
    }

    /// Writes that it stopped, and why; nobody's act but the server's.
    async fn stop(mut self, why: String) -> Result<(), Stop> {
        self.build.set_state(BuildState::Stopped);
        self.build.stop_reason.clone_from(&why);
        let server = Caller {
            principal: "server".to_owned(),
            role: "server".to_owned(),
            key_id: String::new(),
        };
        self.write(server, None).await?;
        Err(Stop::Revoked(why))
    }

    async fn end(mut self) -> Result<(), Stop> {
        self.build.set_state(BuildState::Done);
        self.build.gaps = std::mem::take(&mut self.gaps);
        self.commit(None).await
    }

    /// Writes the progress, with a package where one was made, in the name of who began.
    async fn commit(&mut self, package: Option<(String, Box<Package>)>) -> Result<(), Stop> {
        let began = self.committed.caller.clone();
        self.write(began, package).await
    }

    async fn write(
        &mut self,
        caller: Caller,
        package: Option<(String, Box<Package>)>,
    ) -> Result<(), Stop> {
        let expect = Expect::Revision(self.committed.revision);
        let (assert, own) = super::entry(self.name, &self.build, expect);
        let (mut asserts, mut entries) = (vec![assert], vec![own]);
        if let Some((name, package)) = package {
            let (assert, package) = entry(&name, &package);
            asserts.push(assert);
            entries.push(package);
        }
        let draft = Draft {
            project: names::project_of(self.name).to_owned(),
            caller,
            request_id: String::new(),
            request_digest: Digest::default().part(self.name.as_bytes()).finish(),
            reason: self.committed.reason.clone(),
            commit_time_ms: now_ms(),
            observed_time_ms: None,
            asserts,
            entries,
        };
        match self.ledger.commit(draft).await {
            Ok(_) => {}
            // Only a caller who gives the build up writes it besides.
            Err(LedgerError::Stale { .. }) => return Err(Stop::Cancelled),
            Err(error) => return Err(Stop::Store(refusal(error))),
        }
        self.said = self.build.done_count;
        self.committed = kept(self.ledger, self.name).await.map_err(Stop::Store)?;
        Ok(())
    }
}
