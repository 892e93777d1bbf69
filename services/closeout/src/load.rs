//! Everything that an evaluation of one segment at one revision reads, gathered from the ledger.
//!
//! The ledger's snapshot follows references to the segment and from there on. What it cannot reach
//! is added here: the project and its papers, rights to enter the parcels, makers' sheets in
//! `office` as they stood at the commit's time, tests of the same batches, and older states that
//! rules look at.

mod plan;

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use obvert_access::OFFICE;
use obvert_ledger::{Ledger, LedgerError, Stored};
use obvert_proto::{
    Problem,
    acceptance::v1::Sample,
    closeout::v1::{PlanState, SegmentStatus},
    common::v1::RecordRef,
    material::v1::{LinerCertificate, LinerOrder},
};
use obvert_records::{is_of_project, names, paper::is_paper, refusal};
use prost::{Message, Name};

use crate::{
    LiningOrder, evaluate,
    moved::moved_away,
    plan::PlanText,
    plan_states::ReadPlan,
    segment_file::{Gathered, SegmentFile},
};

/// A segment's file with the plan it is judged by.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The records as stored.
    pub gathered: Gathered,
    /// The records sorted out.
    pub file: SegmentFile,
    /// The plan.
    pub plan: Arc<PlanText>,
    /// The plan's text.
    pub plan_source: String,
    /// The plan's record and revision.
    pub plan_ref: RecordRef,
    /// Every state of it so far, and of those that the project named before.
    pub plan_states: Arc<[PlanState]>,
}

impl Loaded {
    /// The plan as read, for the next segment of the project.
    pub(crate) fn read_plan(&self) -> ReadPlan {
        let project = &self.gathered.project;
        ReadPlan {
            record: self.plan_ref.clone(),
            named_by: RecordRef {
                name: project.name.clone(),
                revision: project.revision,
            },
            text: Arc::clone(&self.plan),
            states: Arc::clone(&self.plan_states),
        }
    }

    /// Where the segment stands.
    pub fn status(&self) -> SegmentStatus {
        SegmentStatus {
            plan_states: self.plan_states.to_vec(),
            ..evaluate(&self.plan, &self.plan_ref, &self.file)
        }
    }

    /// Where it stands when something is done on these records later than their last commit: an act
    /// judges by its own time, since a variance may have run out meanwhile.
    pub fn status_at(&self, now_ms: i64) -> SegmentStatus {
        let mut file = self.file.clone();
        file.commit_time_ms = file.commit_time_ms.max(now_ms);
        evaluate(&self.plan, &self.plan_ref, &file)
    }
}

/// Loads a segment's file and plan at a revision of its project; 0 for the newest.
///
/// # Errors
///
/// `FIELDS_INVALID` for a name of another form, `RECORD_NOT_FOUND`, `PLAN_INVALID` when the project
/// names no plan or one that cannot be used, or a fault of the ledger.
pub async fn load_segment(
    ledger: &Ledger,
    segment: &str,
    revision: i64,
) -> Result<Loaded, Problem> {
    load_segment_with(ledger, segment, revision, Known::default()).await
}

/// What segments of one project share, so that the second need not read it again.
#[derive(Default)]
pub(crate) struct Known {
    /// Order of lining at the revision.
    pub(crate) lining_order: Option<LiningOrder>,
    /// A plan that was read before.
    pub(crate) plan: Option<ReadPlan>,
}

/// The same where something may be known already.
pub(crate) async fn load_segment_with(
    ledger: &Ledger,
    segment: &str,
    revision: i64,
    known: Known,
) -> Result<Loaded, Problem> {
    let parts = names::parse(segment).filter(|parts| parts.collection == "segments");
    let Some(parts) = parts else {
        let message = format!("is \"{segment}\": write projects/{{project}}/segments/{{id}}");
        return Err(Problem::fields(vec![obvert_proto::Violation::new(
            "segment", message,
        )]));
    };
    let snapshot = ledger
        .snapshot(segment.to_owned(), revision)
        .await
        .map_err(refusal)?;
    let at = snapshot.revision;
    is_of_project(revision, parts.project, at)?;
    let project_name = names::join("", "projects", parts.project);
    let project = ledger
        .get(project_name.clone(), at)
        .await
        .map_err(refusal)?;
    let project = project.ok_or_else(|| {
        refusal(LedgerError::NotFound {
            name: project_name.clone(),
        })
    })?;
    let mut gathering = Gathering {
        ledger,
        at,
        time_ms: snapshot.commit_time_ms,
        referring: snapshot.referring,
        records: snapshot
            .records
            .into_iter()
            .map(|stored| (stored.name.clone(), stored))
            .collect(),
    };
    gathering.add_around(project_name).await?;
    let mut former = gathering.former().await?;
    let (read, plan_source) = gathering.plan(&project, known.plan).await?;
    former.extend(gathering.former_plans(&read.record).await?);
    let nonconformances = gathering.nonconformances(segment).await?;
    let moved_away = moved_away(ledger, segment, &gathering.records, at).await?;
    let lining_order = match (read.text.samples_by_turn(), known.lining_order) {
        (false, _) => LiningOrder::default(),
        (true, Some(known)) => known,
        (true, None) => LiningOrder::read(ledger, parts.project, at).await?,
    };
    let gathered = Gathered {
        segment: segment.to_owned(),
        revision: at,
        commit_time_ms: gathering.time_ms,
        project,
        records: gathering.records.into_values().collect(),
        former,
        nonconformances,
        moved_away,
        lining_order,
    };
    let file = SegmentFile::from_records(&gathered);
    Ok(Loaded {
        gathered,
        file,
        plan: read.text,
        plan_source,
        plan_ref: read.record,
        plan_states: read.states,
    })
}

struct Gathering<'a> {
    ledger: &'a Ledger,
    at: i64,
    time_ms: i64,
    /// Names of records of which everything that refers to them was met.
    referring: BTreeSet<String>,
    records: BTreeMap<String, Stored>,
}

impl Gathering<'_> {
    /// Adds what a walk from the segment alone does not come to.
    async fn add_around(&mut self, project: String) -> Result<(), Problem> {
        let own = BTreeSet::from([project]);
        self.add_all(own, &["documents"]).await?;
        self.add_parcels().await?;
        self.add_batches().await?;
        self.add_comparisons().await?;
        self.add_office().await
    }

    fn add(&mut self, stored: Vec<Stored>) {
        for stored in stored {
            self.records.entry(stored.name.clone()).or_insert(stored);
        }
    }

    fn of_type<M: Message + Name + Default>(&self) -> Vec<(String, M)> {
        let own = self
            .records
            .values()
            .filter(|stored| stored.type_name == M::full_name());
        own.filter_map(|s| Some((s.name.clone(), M::decode(s.body.clone()).ok()?)))
            .collect()
    }

    async fn add_parcels(&mut self) -> Result<(), Problem> {
        let parcels = self.names_of("parcels");
        self.add_all(parcels, &["accessPermits", "documents"])
            .await?;
        Ok(())
    }

    /// Tests of liners that were made of the same batches, wherever they lie.
    async fn add_batches(&mut self) -> Result<(), Problem> {
        let batches = self.names_of("batches");
        let certificates = self.add_all(batches, &["certificates"]).await?;
        let liner = |stored: &Stored| LinerCertificate::decode(stored.body.clone()).ok();
        let liners = certificates.iter().filter_map(liner).map(|c| c.liner);
        let runs = self.add_all(liners.collect(), &["runs"]).await?;
        let samples = self.add_all(named(&runs), &["samples"]).await?;
        self.add_all(named(&samples), &["laboratoryReports"])
            .await?;
        Ok(())
    }

    /// Adds and returns the records of some collections that refer to any of the targets.
    async fn add_all(
        &mut self,
        targets: BTreeSet<String>,
        collections: &'static [&'static str],
    ) -> Result<Vec<Stored>, Problem> {
        let targets = targets.into_iter().collect();
        let found = self.ledger.referrers_of_all(targets, collections, self.at);
        let found = found.await.map_err(refusal)?;
        self.add(found.clone());
        Ok(found)
    }

    /// What others have said of each paper, and files that are about it.
    async fn add_comparisons(&mut self) -> Result<(), Problem> {
        let met = &self.referring;
        let papers = self.records.values().filter(|stored| is_paper(stored));
        let unmet = papers.filter(|stored| !met.contains(&stored.name));
        let papers = unmet.map(|stored| stored.name.clone()).collect();
        self.add_all(papers, &["paperChecks", "attachments"])
            .await?;
        Ok(())
    }

    fn names_of(&self, collection: &str) -> BTreeSet<String> {
        let own = |name: &&String| names::parse(name).is_some_and(|p| p.collection == collection);
        self.records.keys().filter(own).cloned().collect()
    }

    /// Records of `office` that others name, as they stood at the commit's time.
    async fn add_office(&mut self) -> Result<(), Problem> {
        let refers = self
            .records
            .values()
            .flat_map(|stored| stored.refers.iter());
        let in_office = |name: &&String| names::parse(name).is_some_and(|p| p.project == OFFICE);
        let wanted: BTreeSet<String> = refers.filter(in_office).cloned().collect();
        for name in wanted {
            let stood = self.stood_at_time(name).await?;
            self.add(stood.into_iter().collect());
        }
        Ok(())
    }

    /// Last state of a record that was committed no later than the time of evaluation.
    async fn stood_at_time(&self, name: String) -> Result<Option<Stored>, Problem> {
        let mut stood = None;
        let mut after = 0;
        loop {
            let page = self
                .ledger
                .history(name.clone(), after, 100)
                .await
                .map_err(refusal)?;
            let Some(last) = page.items.last() else {
                return Ok(stood);
            };
            after = last.revision;
            let more = page.next.is_some() && last.commit_time_ms <= self.time_ms;
            let early = page
                .items
                .into_iter()
                .filter(|s| s.commit_time_ms <= self.time_ms);
            stood = early.last().or(stood);
            if !more {
                return Ok(stood);
            }
        }
    }

    /// Design states that orders name, and first states of samples revised since.
    async fn former(&self) -> Result<Vec<Stored>, Problem> {
        let orders = self.of_type::<LinerOrder>();
        let designs = orders.into_iter().flat_map(|(_, order)| order.segments);
        let mut wanted: BTreeSet<(String, i64)> = designs
            .map(|part| (part.design, part.design_revision))
            .collect();
        let samples = self
            .records
            .values()
            .filter(|s| s.type_name == Sample::full_name());
        let revised = samples.filter(|sample| sample.revision != sample.create_revision);
        wanted.extend(revised.map(|sample| (sample.name.clone(), sample.create_revision)));
        wanted.retain(|(name, at)| self.records.get(name).is_none_or(|now| now.revision != *at));
        let mut former = Vec::new();
        for (name, at) in wanted {
            former.extend(self.ledger.get(name, at).await.map_err(refusal)?);
        }
        Ok(former)
    }

    /// Names of the nonconformances that name the segment, as the ledger lists them.
    async fn nonconformances(&self, segment: &str) -> Result<Vec<String>, Problem> {
        let of = (vec![segment.to_owned()], &["nonconformances"][..]);
        let found = self.ledger.referrers_of_all(of.0, of.1, self.at).await;
        Ok(found
            .map_err(refusal)?
            .into_iter()
            .map(|stored| stored.name)
            .collect())
    }
}

fn named(records: &[Stored]) -> BTreeSet<String> {
    records.iter().map(|stored| stored.name.clone()).collect()
}
