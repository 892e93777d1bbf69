//! Keeps the answers of plug-ins up to date: after commits, in the background, as records.
//!
//! Each plug-in has a task of its own, so that one that hangs keeps only its own points waiting. A
//! task looks at the segments of the projects that changed, leaves out those whose status still
//! stands, and asks where no answer for the evidence on file is there. When the plug-in gives another version of
//! itself, it asks once more whatever an older one answered, except what is past on an accepted
//! segment; until the newer answer is on file, the older one stands. The answer is committed by
//! the principal `plug-in/<id>`; evaluation reads it as any other record, and a page never waits for
//! a plug-in. A fault is committed as well, once, and asked again later and later.

mod ask;
mod editions;
mod write;

use std::{
    collections::HashMap,
    sync::atomic::{AtomicU32, Ordering},
    time::Duration,
};

use futures::StreamExt;
use obvert_access::OFFICE;
use obvert_ledger::Ledger;
use obvert_plugins::Plugin;
use obvert_proto::{Problem, common::v1::Reason};
use obvert_records::refusal;
use tokio::{
    sync::watch,
    time::{Instant, sleep, sleep_until},
};

use self::{
    ask::Again,
    editions::{Editions, Versions},
};
use crate::{
    service::segments,
    statuses::{Moment, Statuses},
};

/// Commits of one burst are looked at together.
const SETTLE: Duration = Duration::from_millis(200);
/// First and longest wait before a plug-in that failed is asked again.
const RETRY_FIRST: Duration = Duration::from_secs(5);
const RETRY_LONGEST: Duration = Duration::from_secs(600);
/// Questions of one look that may fail before the rest waits for the next.
const FAILURES: u32 = 8;

/// Asks one plug-in whatever the plans ask of it, until told to stop.
pub async fn keep_plugin_answers(
    ledger: Ledger,
    statuses: Statuses,
    plugin: Plugin,
    mut stop: watch::Receiver<bool>,
) {
    let mut ticks = ledger.watch();
    let mut keeper = Keeper {
        ledger,
        statuses,
        settled: HashMap::new(),
        plugin,
        seen: HashMap::new(),
        asked: HashMap::new(),
        versions: Versions::default(),
        retry_at: Some(Instant::now()),
        retry_after: RETRY_FIRST,
    };
    loop {
        ticks.borrow_and_update();
        let begun = Instant::now();
        tokio::select! {
            looked = keeper.look() => if let Err(problem) = looked {
                let plugin = keeper.plugin.id();
                tracing::warn!(plugin, message = problem.message, "a look for questions ended");
            },
            _ = stop.wait_for(|stop| *stop) => return,
        }
        // No more than half of the time is spent looking.
        let settle = begun.elapsed().max(SETTLE);
        let retry_at = keeper.retry_at;
        let retry = async move {
            match retry_at {
                Some(at) => sleep_until(at).await,
                None => std::future::pending().await,
            }
        };
        tokio::select! {
            changed = ticks.changed() => if changed.is_err() { return },
            () = retry => {}
            () = sleep_until(keeper.versions.next()) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        tokio::select! {
            () = sleep(settle) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}

/// What one task knows between two looks.
struct Keeper {
    ledger: Ledger,
    statuses: Statuses,
    plugin: Plugin,
    /// Revision of each project that was looked at.
    seen: HashMap<String, i64>,
    /// Revision at which the status of each segment was worked out when all was asked about it.
    settled: HashMap<String, i64>,
    /// Editions whose answers each project has, as far as they could be asked for.
    asked: HashMap<String, Editions>,
    versions: Versions,
    /// When what failed is asked again.
    retry_at: Option<Instant>,
    retry_after: Duration,
}

/// What one look at a project is for.
#[derive(Clone, Copy)]
struct Look<'a> {
    now: Moment,
    /// Whether what failed is asked again.
    retries: bool,
    /// Editions of which this project has not all answers yet.
    renewed: Option<&'a Editions>,
    /// Questions that failed so far.
    failures: &'a AtomicU32,
}

impl Keeper {
    /// Asks about every segment of every project that changed, or of all when it is time to ask
    /// again.
    async fn look(&mut self) -> Result<(), Problem> {
        let retries = self.retry_at.is_some_and(|at| at <= Instant::now());
        self.versions.renew(&self.plugin).await;
        let editions = self.versions.taken().clone();
        let failures = AtomicU32::new(0);
        for project in self.ledger.projects().await.map_err(refusal)? {
            if project == OFFICE || !self.plugin.sees(&project) {
                continue;
            }
            let now = self.statuses.now(&project).await?;
            let is_asked = self.asked.get(&project) == Some(&editions);
            if !retries && is_asked && self.seen.get(&project) == Some(&now.revision) {
                continue;
            }
            let look = Look {
                now,
                retries,
                renewed: (!is_asked).then_some(&editions),
                failures: &failures,
            };
            // A project that cannot be read keeps no other waiting.
            match self.look_at(&project, look).await {
                Ok(()) => {
                    if failures.load(Ordering::Relaxed) < FAILURES {
                        self.asked.insert(project.clone(), editions.clone());
                    }
                    self.seen.insert(project, now.revision);
                }
                Err(problem) => tracing::warn!(
                    plugin = self.plugin.id(),
                    project,
                    message = problem.message,
                    "a look for questions ended"
                ),
            }
        }
        let has_failed = failures.load(Ordering::Relaxed) > 0;
        if has_failed && (retries || self.retry_at.is_none()) {
            self.retry_at = Some(Instant::now() + self.retry_after);
            self.retry_after = (self.retry_after * 2).min(RETRY_LONGEST);
        } else if retries {
            (self.retry_at, self.retry_after) = (None, RETRY_FIRST);
        }
        Ok(())
    }

    async fn look_at(&mut self, project: &str, look: Look<'_>) -> Result<(), Problem> {
        let (settled, looked) = self.look_through(project, look).await;
        self.settled.extend(settled);
        looked
    }

    /// Segments about which all is asked, and the first fault of the others.
    async fn look_through(
        &self,
        project: &str,
        look: Look<'_>,
    ) -> (Vec<(String, i64)>, Result<(), Problem>) {
        let (mut settled, mut first) = (Vec::new(), Ok(()));
        let segments = segments(&self.ledger, project.to_owned(), look.now.revision);
        let asked = segments.map(|segment| async move {
            if look.failures.load(Ordering::Relaxed) >= FAILURES {
                return Ok(None);
            }
            self.ask(segment?, look).await
        });
        let mut asked = std::pin::pin!(asked.buffer_unordered(self.plugin.calls().max(1)));
        // One segment that cannot be read does not keep the others waiting.
        while let Some(outcome) = asked.next().await {
            match outcome {
                Ok(segment) => settled.extend(segment),
                // Without a plan nobody asks anything.
                Err(problem) if problem.reason == Reason::PlanInvalid => {}
                Err(problem) => first = first.and(Err(problem)),
            }
        }
        (settled, first)
    }

    /// Asks about one segment, unless nothing that it rests on was written since it was settled.
    async fn ask(&self, segment: String, look: Look<'_>) -> Result<Option<(String, i64)>, Problem> {
        let Look { now, retries, .. } = look;
        let from = self.statuses.evaluated_at(&segment, now).await?;
        let is_settled = self.settled.get(&segment) == Some(&from);
        if !retries && look.renewed.is_none() && is_settled {
            return Ok(None);
        }
        let status = self.statuses.at(&segment, now).await?;
        let renewed = look.renewed.map(|editions| (editions, &status));
        let again = Again { retries, renewed };
        let failed = ask::about(&self.ledger, &self.plugin, &segment, again).await?;
        look.failures.fetch_add(failed, Ordering::Relaxed);
        Ok(Some((segment, from)))
    }
}
