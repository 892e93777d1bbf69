//! Where segments stand now, evaluated again only when something they rest on was written.
//!
//! A status is kept with the names of all records that its evaluation read. A commit that writes one
//! of them, or a record that refers to one of them, drops it; so does the turn of the day on site,
//! which is the finest step of time that an evaluator looks at. What is kept is never a truth of its
//! own: it equals a full evaluation, it may be lost at any time, and another server has its own.
//! So what is too much is dropped: when there is no room, a status drawn by lot, since who reads a
//! whole project again and again would lose by age just what is asked for next.

mod office;

use std::{
    collections::{HashMap, HashSet, hash_map::DefaultHasher},
    hash::{Hash, Hasher},
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
};

use jiff::{Timestamp, civil::Date, tz::TimeZone};
use obvert_access::OFFICE;
use obvert_ledger::Ledger;
use obvert_proto::{Problem, closeout::v1::SegmentStatus, common::v1::Commit, dates::unix_ms};
use obvert_records::{names, refusal};
use tokio::sync::Mutex;

use self::office::Office;
use crate::{
    LiningOrder, Loaded,
    load::{Known, load_segment_with},
    plan_states::ReadPlan,
};

/// Commits read at once.
const COMMITS: usize = 500;

/// How much is kept.
#[derive(Debug, Clone, Copy)]
pub struct Room {
    /// Most statuses; about 60 kB each.
    pub statuses: usize,
    /// Most names that commits of `office` wrote; 8 bytes each.
    pub office_names: usize,
}

/// Where segments stand, kept between questions. Clones share what is kept.
#[derive(Clone)]
pub struct Statuses {
    ledger: Ledger,
    room: Room,
    kept: Arc<Mutex<Kept>>,
    evaluations: Arc<AtomicU64>,
}

/// Revision of a project with the time of its commit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moment {
    /// Revision.
    pub revision: i64,
    /// Time of its commit, in milliseconds since 1970-01-01T00:00:00Z.
    pub commit_time_ms: i64,
}

/// Everything kept, with how far each project's commits were looked at.
#[derive(Default)]
struct Kept {
    statuses: HashMap<String, Entry>,
    seen: HashMap<String, i64>,
    /// The plan that was read last.
    plan: Option<ReadPlan>,
    /// Order of lining of each project that samples by it, with the revision it was read at.
    orders: HashMap<String, (i64, LiningOrder)>,
    /// Tick of the ledger before which everything for a project was seen.
    ticks: HashMap<String, u64>,
    office: Office,
}

/// One status, with what it rests on.
struct Entry {
    project: String,
    from: Moment,
    day: Date,
    zone: TimeZone,
    rests_on: HashSet<u64>,
    on_runs: bool,
    status: Arc<SegmentStatus>,
}

impl Statuses {
    /// Statuses over a ledger; none is kept yet.
    pub fn new(ledger: Ledger) -> Self {
        Self::with_room(ledger, Room::default())
    }

    /// The same with another room.
    pub fn with_room(ledger: Ledger, room: Room) -> Self {
        Self {
            ledger,
            room,
            kept: Arc::default(),
            evaluations: Arc::default(),
        }
    }

    /// Newest revision of a project.
    ///
    /// # Errors
    ///
    /// A fault of the ledger.
    pub async fn now(&self, project: &str) -> Result<Moment, Problem> {
        let head = self
            .ledger
            .head(project.to_owned())
            .await
            .map_err(refusal)?;
        Ok(Moment {
            revision: head.revision,
            commit_time_ms: head.commit_time_ms,
        })
    }

    /// Where a segment stands at a moment that [`Self::now`] gave.
    ///
    /// # Errors
    ///
    /// Those of [`load_segment`](crate::load_segment).
    pub async fn at(&self, segment: &str, moment: Moment) -> Result<SegmentStatus, Problem> {
        let kept = self.kept_at(segment, moment).await?;
        Ok(SegmentStatus {
            revision: moment.revision,
            ..Arc::unwrap_or_clone(kept)
        })
    }

    /// The same as it was worked out, with the revision of that.
    ///
    /// # Errors
    ///
    /// Those of [`load_segment`](crate::load_segment).
    pub async fn kept_at(
        &self,
        segment: &str,
        moment: Moment,
    ) -> Result<Arc<SegmentStatus>, Problem> {
        let project = names::parse(segment).map_or("", |parts| parts.project);
        if let Some(status) = self.standing(segment, project, moment).await? {
            return Ok(status);
        }
        self.evaluations.fetch_add(1, Ordering::Relaxed);
        let known = self.known(project, moment).await;
        let loaded = load_segment_with(&self.ledger, segment, moment.revision, known).await?;
        let status = Arc::new(loaded.status());
        self.keep(segment, project, &loaded, &status).await;
        Ok(status)
    }

    /// Revision at which the status at a moment was worked out: nothing that it rests on was written
    /// from there to the moment.
    ///
    /// # Errors
    ///
    /// Those of [`load_segment`](crate::load_segment).
    pub async fn evaluated_at(&self, segment: &str, moment: Moment) -> Result<i64, Problem> {
        let status = self.kept_at(segment, moment).await?;
        let kept = self.kept.lock().await;
        let entry = kept.statuses.get(segment);
        Ok(entry.map_or(status.revision, |entry| entry.from.revision))
    }

    /// Evaluations made so far, since the start.
    pub fn evaluation_count(&self) -> u64 {
        self.evaluations.load(Ordering::Relaxed)
    }

    /// Statuses and names of `office` that are kept now.
    pub async fn size(&self) -> Room {
        let kept = self.kept.lock().await;
        Room {
            statuses: kept.statuses.len(),
            office_names: kept.office.names(),
        }
    }

    async fn standing(
        &self,
        segment: &str,
        project: &str,
        moment: Moment,
    ) -> Result<Option<Arc<SegmentStatus>>, Problem> {
        let mut kept = self.kept.lock().await;
        let tick = *self.ledger.watch().borrow();
        let seen = kept.seen.get(project).copied();
        let is_new = kept.ticks.get(project) != Some(&tick);
        if is_new || seen.is_none_or(|seen| seen < moment.revision) {
            self.look(&mut kept, project).await?;
            kept.ticks.insert(project.to_owned(), tick);
        }
        let Some(entry) = kept.statuses.get(segment) else {
            return Ok(None);
        };
        let stands = entry.stands(&kept.office, moment);
        Ok(stands.then(|| Arc::clone(&entry.status)))
    }

    /// What another segment of the project brought, unless it was written since.
    async fn known(&self, project: &str, moment: Moment) -> Known {
        let kept = self.kept.lock().await;
        let order = kept.orders.get(project);
        let order = order.filter(|(from, _)| moment.revision >= *from);
        Known {
            lining_order: order.map(|(_, order)| order.clone()),
            plan: kept.plan.clone(),
        }
    }

    /// Keeps a status and what it shares with others, unless something was written meanwhile.
    async fn keep(
        &self,
        segment: &str,
        project: &str,
        loaded: &Loaded,
        status: &Arc<SegmentStatus>,
    ) {
        let entry = Entry::of(project, loaded, status);
        let mut kept = self.kept.lock().await;
        kept.plan = Some(loaded.read_plan());
        let seen = kept.seen.get(project).copied().unwrap_or_default();
        let read_at = loaded.gathered.revision;
        if seen > read_at {
            return;
        }
        if loaded.plan.samples_by_turn() {
            let order = loaded.gathered.lining_order.clone();
            kept.orders.insert(project.to_owned(), (read_at, order));
        }
        kept.statuses.remove(segment);
        if let Some(entry) = entry {
            if kept.statuses.len() >= self.room.statuses {
                kept.drop_one(self.evaluation_count());
            }
            kept.statuses.insert(segment.to_owned(), entry);
        }
    }

    /// Drops what new commits of the project and of `office` touch.
    async fn look(&self, kept: &mut Kept, project: &str) -> Result<(), Problem> {
        for watched in [OFFICE, project] {
            let first = kept.seen.get(watched).copied();
            let keeps = kept.statuses.values().any(|entry| entry.project == watched);
            if watched != OFFICE && !keeps {
                let now = self.now(watched).await?;
                kept.seen.insert(watched.to_owned(), now.revision);
                kept.orders.remove(watched);
                continue;
            }
            let mut seen = first.unwrap_or_default();
            loop {
                let commits = self.ledger.commits(watched.to_owned(), seen, COMMITS);
                let commits = commits.await.map_err(refusal)?;
                let Some(last) = commits.last() else { break };
                seen = last.revision;
                for commit in &commits {
                    kept.drop_touched(watched, commit);
                }
                kept.forget(self.room.office_names);
            }
            kept.seen.insert(watched.to_owned(), seen);
        }
        Ok(())
    }
}

impl Kept {
    fn drop_touched(&mut self, project: &str, commit: &Commit) {
        let wrote: Vec<u64> = commit.entries.iter().map(|e| mark(&e.name)).collect();
        if project == OFFICE {
            self.statuses
                .retain(|_, entry| !wrote.iter().any(|name| entry.rests_on.contains(name)));
            let time = commit.commit_time.as_ref().map_or(0, unix_ms);
            self.office.add(time, wrote);
            return;
        }
        let refers = commit.entries.iter().flat_map(|entry| &entry.refers);
        let named: Vec<u64> = refers
            .filter(|name| !of_office(name))
            .map(|n| mark(n))
            .collect();
        let runs = commit.entries.iter().any(|entry| in_runs(&entry.name));
        if runs {
            self.orders.remove(project);
        }
        self.statuses.retain(|_, entry| {
            let mut touched = wrote.iter().chain(&named);
            entry.project != project
                || !(touched.any(|name| entry.rests_on.contains(name)) || runs && entry.on_runs)
        });
    }

    /// Makes room for a status, by a lot that needs no luck but to fall everywhere.
    fn drop_one(&mut self, lot: u64) {
        let drawn = mark(&lot.to_string()) % (self.statuses.len().max(1) as u64);
        let drawn = self.statuses.keys().nth(drawn as usize).cloned();
        drawn.and_then(|name| self.statuses.remove(&name));
    }

    /// Forgets the oldest commits of `office`, and the statuses that they still speak about.
    fn forget(&mut self, most: usize) {
        while let Some((time_ms, wrote)) = self.office.forget(most) {
            self.statuses.retain(|_, entry| {
                entry.from.commit_time_ms > time_ms
                    || !wrote.iter().any(|name| entry.rests_on.contains(name))
            });
        }
    }
}

impl Default for Room {
    fn default() -> Self {
        Self {
            statuses: 2_000,
            office_names: 10_000,
        }
    }
}

impl Entry {
    /// Entry of a status; none where it rests on a plan of another project.
    fn of(project: &str, loaded: &Loaded, status: &Arc<SegmentStatus>) -> Option<Self> {
        let plan_home = names::parse(&loaded.plan_ref.name)?.project;
        if ![project, OFFICE].contains(&plan_home) {
            return None;
        }
        let gathered = &loaded.gathered;
        let records = gathered.records.iter().chain([&gathered.project]);
        let read = records.flat_map(|stored| [&stored.name].into_iter().chain(&stored.refers));
        let mut rests_on: HashSet<u64> = read.map(|name| mark(name)).collect();
        rests_on.insert(mark(&loaded.plan_ref.name));
        let zone = loaded.file.zone.clone();
        Some(Self {
            project: project.to_owned(),
            from: Moment {
                revision: gathered.revision,
                commit_time_ms: gathered.commit_time_ms,
            },
            day: day(&zone, gathered.commit_time_ms),
            zone,
            rests_on,
            on_runs: loaded.plan.samples_by_turn(),
            status: Arc::clone(status),
        })
    }

    /// Whether the status holds at a moment, given that no commit touched it since.
    fn stands(&self, office: &Office, moment: Moment) -> bool {
        let from = self.from;
        let later =
            moment.revision >= from.revision && moment.commit_time_ms >= from.commit_time_ms;
        // What office wrote ahead of this project's time is seen from its own time on.
        let (from_ms, to_ms) = (from.commit_time_ms, moment.commit_time_ms);
        let is_known = office.is_whole_from(from_ms) || moment.revision == from.revision;
        later
            && is_known
            && day(&self.zone, to_ms) == self.day
            && !office.wrote_between(from_ms, to_ms, &self.rests_on)
    }
}

fn day(zone: &TimeZone, ms: i64) -> Date {
    let instant = Timestamp::from_millisecond(ms).unwrap_or_default();
    instant.to_zoned_datetime(zone.clone()).date()
}

/// Short mark of a name. Two names with one mark cost an evaluation, no more.
fn mark(name: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    name.hash(&mut hasher);
    hasher.finish()
}

fn of_office(name: &str) -> bool {
    names::parse(name).is_some_and(|parts| parts.project == OFFICE)
}

fn in_runs(name: &str) -> bool {
    names::parse(name).is_some_and(|parts| parts.collection == "runs")
}
