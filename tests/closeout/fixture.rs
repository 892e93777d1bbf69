//! A complete, clean, invented segment as stored records, and ways to change it.

use std::collections::BTreeMap;

use obvert_closeout::{
    evaluate,
    plan::{self, PlanText},
    segment_file::{Gathered, SegmentFile},
};
use obvert_ledger::{Caller, Stored};
use obvert_proto::{
    closeout::v1::{PointState, Release, ReleaseKind, SegmentStatus},
    common::v1::{LocalDate, RecordRef},
    dates::from_unix_ms,
};
use prost::{Message, Name};

use super::{paper, work};

/// The owner's plan that every test judges by.
pub(crate) const PLAN: &str = include_str!("../../deploy/plans/marrowby.toml");
/// The segment.
pub(crate) const SEGMENT: &str = "projects/quillfern/segments/s-1";

/// Full name of a record of the project, from `collection/id`.
pub(crate) fn full(short: &str) -> String {
    format!("projects/quillfern/{short}")
}

/// Milliseconds of a time on site, such as `2026-05-04 08:30`.
pub(crate) fn ms(local: &str) -> i64 {
    let local = local.replace(' ', "T");
    let zoned: jiff::ZonedDateTime = format!("{local}[America/New_York]").parse().unwrap();
    zoned.timestamp().as_millisecond()
}

/// Schema time of a time on site.
pub(crate) fn at(local: &str) -> Option<prost_types::Timestamp> {
    Some(from_unix_ms(ms(local)))
}

/// Schema date, such as `2026-05-04`.
pub(crate) fn on(date: &str) -> Option<LocalDate> {
    Some(LocalDate::from_civil(date.parse().unwrap()))
}

/// Records of a segment by name, and the plan.
#[derive(Clone)]
pub(crate) struct Fixture {
    pub(crate) records: BTreeMap<String, Stored>,
    pub(crate) former: Vec<Stored>,
    pub(crate) revision: i64,
    pub(crate) time_ms: i64,
    pub(crate) plan: PlanText,
}

impl Fixture {
    /// The clean segment, without releases.
    pub(crate) fn clean() -> Self {
        let mut fixture = Self {
            records: BTreeMap::new(),
            former: Vec::new(),
            revision: 0,
            time_ms: ms("2026-06-10 12:00"),
            plan: plan::parse(PLAN).unwrap(),
        };
        paper::file(&mut fixture);
        work::file(&mut fixture);
        fixture
    }

    /// The clean segment whose run also lines a second one.
    pub(crate) fn shared_run() -> Self {
        let mut fixture = Self::clean();
        work::share_run(&mut fixture);
        fixture
    }

    /// Writes a record as a new revision.
    pub(crate) fn put<M: Message + Name>(&mut self, name: &str, message: &M) {
        let writer = Caller {
            principal: "person/ines-holt".into(),
            role: "office".into(),
            key_id: "k-1".into(),
        };
        self.put_by(name, message, writer);
    }

    pub(crate) fn put_by<M: Message + Name>(&mut self, name: &str, message: &M, caller: Caller) {
        self.revision += 1;
        let before = self.records.get(name);
        let stored = Stored {
            name: name.to_owned(),
            revision: self.revision,
            create_revision: before.map_or(self.revision, |before| before.create_revision),
            type_name: M::full_name(),
            body: message.encode_to_vec().into(),
            refers: Vec::new(),
            claims: Vec::new(),
            commit_time_ms: self.time_ms,
            observed_time_ms: before.and_then(|before| before.observed_time_ms),
            caller,
            reason: String::new(),
        };
        self.records.insert(name.to_owned(), stored);
    }

    /// Writes a record of the project from `collection/id`.
    pub(crate) fn add<M: Message + Name>(&mut self, short: &str, message: M) {
        self.put(&full(short), &message);
    }

    /// Revises a record.
    pub(crate) fn edit<M: Message + Name + Default>(
        &mut self,
        short: &str,
        change: impl FnOnce(&mut M),
    ) {
        let name = full(short);
        let mut message = M::decode(self.records[&name].body.clone()).unwrap();
        change(&mut message);
        self.put(&name, &message);
    }

    /// Takes a record out.
    pub(crate) fn remove(&mut self, short: &str) {
        assert!(
            self.records.remove(&full(short)).is_some(),
            "there is no {short}"
        );
    }

    /// The segment's file.
    pub(crate) fn file(&self) -> SegmentFile {
        let project = self.records["projects/quillfern"].clone();
        SegmentFile::from_records(&Gathered {
            segment: SEGMENT.into(),
            revision: self.revision,
            commit_time_ms: self.time_ms,
            project,
            records: self.records.values().cloned().collect(),
            former: self.former.clone(),
        })
    }

    /// Where the segment stands.
    pub(crate) fn status(&self) -> SegmentStatus {
        let plan = RecordRef {
            name: full("plans/itp"),
            revision: 1,
        };
        evaluate(&self.plan, &plan, &self.file())
    }

    /// Writes a release of a point on the facts as they are now.
    pub(crate) fn sign(&mut self, point: &str, kind: ReleaseKind, role: &str, note: &str) {
        let status = self.status();
        let digest = super::point(&status, point).facts_digest.clone();
        let release = Release {
            segment: SEGMENT.into(),
            point: point.into(),
            release_kind: kind.into(),
            facts_digest: digest,
            note: note.into(),
            ..Release::default()
        };
        let caller = Caller {
            principal: format!("person/{role}"),
            role: role.into(),
            key_id: "k-2".into(),
        };
        let name = full(&format!("releases/r-{}", self.revision));
        self.put_by(&name, &release, caller);
    }

    /// Signs everything that awaits a release, as the roles of the plan would, and answers.
    pub(crate) fn signed(&mut self) -> SegmentStatus {
        loop {
            let status = self.status();
            let awaits = status
                .points
                .iter()
                .find(|p| p.state() == PointState::AwaitsRelease);
            let Some(awaits) = awaits else { return status };
            let id = awaits.point.clone();
            let role = self.plan.point(&id).unwrap().released_by[0].clone();
            self.sign(&id, ReleaseKind::Release, &role, "");
        }
    }
}
