//! Statuses kept between commits equal full evaluations, and only what a commit touches is evaluated
//! again.

use obvert_closeout::{StatusRoom as Room, Statuses, load_segment};
use obvert_ledger::{Draft, Ledger, LedgerConfig, NewEntry};
use obvert_proto::{
    acceptance::v1::{Disposition, Nonconformance, Survey},
    closeout::v1::{Plan, Release, ReleaseKind},
    installation::v1::Run,
    material::v1::{LinerCertificate, MakerSheet},
    project::v1::{Document, Lateral, Parcel},
};
use proptest::{
    prelude::any,
    test_runner::{Config, TestRunner},
};
use prost::{Message, Name};
use tempfile::TempDir;

use super::fixture::{
    Fixture, SEGMENT,
    asked::{STRICT, clean_under},
    at, full, many, on, store,
};

/// Segments of one project, copies of the clean one under other names, and the office's sheet.
pub(super) struct Project {
    _folder: TempDir,
    ledger: Ledger,
    pub(super) statuses: Statuses,
    time_ms: i64,
    wrote: u32,
}

const SEGMENTS: [&str; 3] = ["s-1", "s-2", "s-3"];

impl Project {
    /// Under the common plan, or the strict one, which samples segments by turn and by batch.
    async fn filled(strict: bool) -> Self {
        Self::filled_with(strict, Room::default()).await
    }

    pub(super) async fn filled_with(strict: bool, room: Room) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ledger = Ledger::open(LedgerConfig::new(folder.path()))
            .await
            .unwrap();
        let mut fixture = match strict {
            true => clean_under(STRICT),
            false => Fixture::clean(),
        };
        match strict {
            true => store::fill_under(&ledger, &mut fixture, STRICT).await,
            false => store::fill(&ledger, &mut fixture).await,
        }
        let statuses = Statuses::with_room(ledger.clone(), room);
        let mut project = Self {
            _folder: folder,
            ledger,
            statuses,
            time_ms: fixture.time_ms,
            wrote: 0,
        };
        for id in &SEGMENTS[1..] {
            let segment =
                super::fixture::paper::segment(&format!("{id}-up"), &format!("{id}-down"));
            project
                .write(&full(&format!("segments/{id}")), &segment)
                .await;
        }
        project
    }

    pub(super) async fn write<M: Message + Name>(&mut self, name: &str, message: &M) {
        self.wrote += 1;
        let project = name.split('/').nth(1).unwrap().to_owned();
        let draft = Draft {
            project,
            caller: obvert_ledger::Caller {
                principal: "person/ines-holt".into(),
                role: "office".into(),
                key_id: "k-1".into(),
            },
            request_id: format!("w-{}", self.wrote),
            request_digest: [1; 32],
            reason: String::new(),
            commit_time_ms: self.time_ms,
            observed_time_ms: None,
            asserts: Vec::new(),
            entries: vec![NewEntry {
                name: name.into(),
                type_name: M::full_name(),
                body: message.encode_to_vec().into(),
                refers: references(message),
                claims: Vec::new(),
            }],
        };
        self.ledger.commit(draft).await.unwrap();
    }

    async fn revise<M: Message + Name + Default>(
        &mut self,
        name: &str,
        change: impl FnOnce(&mut M),
    ) {
        let stored = self.ledger.get(name.into(), 0).await.unwrap().unwrap();
        let mut message = M::decode(stored.body).unwrap();
        change(&mut message);
        self.write(name, &message).await;
    }

    /// Asserts that every kept status equals a full evaluation, and says how many were made.
    pub(super) async fn compare(&self) -> u64 {
        let before = self.statuses.evaluation_count();
        let now = self.statuses.now("quillfern").await.unwrap();
        for id in SEGMENTS {
            let segment = full(&format!("segments/{id}"));
            let kept = self.statuses.at(&segment, now).await.unwrap();
            let whole = load_segment(&self.ledger, &segment, 0)
                .await
                .unwrap()
                .status();
            assert_eq!(kept, whole, "{id} at revision {}", now.revision);
        }
        self.statuses.evaluation_count() - before
    }

    /// One change; which one, and of which segment, is drawn.
    pub(super) async fn change(&mut self, kind: u8, segment: u8, hours: u8) {
        let id = SEGMENTS[usize::from(segment) % SEGMENTS.len()];
        let name = full(&format!("segments/{id}"));
        self.time_ms += i64::from(hours) * 3_600_000;
        match kind % 12 {
            kind @ 0..8 => self.add_record(kind, name).await,
            kind => self.revise_one(kind, hours).await,
        }
    }

    /// A new record about the segment, or one that meets it through a batch.
    async fn add_record(&mut self, kind: u8, segment: String) {
        let new = self.wrote;
        let named = |collection: &str| full(&format!("{collection}/new-{new}"));
        match kind {
            0 => {
                let found = deviation(&segment);
                self.write(&named("nonconformances"), &found).await;
            }
            1 => {
                let lateral = Lateral {
                    segment,
                    station_m: 5.0,
                    clock_h: 3.0,
                    ..Lateral::default()
                };
                self.write(&named("laterals"), &lateral).await;
            }
            2 => self.write(&named("documents"), &paper(&segment)).await,
            3 => {
                let paper = paper("projects/quillfern");
                self.write(&named("documents"), &paper).await;
            }
            4 => {
                let survey = Survey {
                    segment,
                    start_time: at("2026-06-01 09:00"),
                    ..Survey::default()
                };
                self.write(&named("surveys"), &survey).await;
            }
            5 => {
                let release = Release {
                    segment,
                    point: "ready-to-line".into(),
                    release_kind: ReleaseKind::Release.into(),
                    ..Release::default()
                };
                self.write(&named("releases"), &release).await;
            }
            6 => {
                let certificate = LinerCertificate {
                    liner: full("liners/other"),
                    batches: vec![full("batches/b-1")],
                    ..LinerCertificate::default()
                };
                self.write(&named("certificates"), &certificate).await;
            }
            _ => {
                let run = Run {
                    segments: vec![segment],
                    liner: full("liners/other"),
                    ..Run::default()
                };
                self.write(&named("runs"), &run).await;
            }
        }
    }

    /// A new state of a record, or a record of `office` that touches nothing here.
    async fn revise_one(&mut self, kind: u8, hours: u8) {
        match kind {
            8 => {
                let other = |run: &mut Run| run.elongation_percent = Some(f64::from(hours) / 10.0);
                self.revise(&full("runs/r-1"), other).await;
            }
            9 => {
                let sheet = |sheet: &mut MakerSheet| sheet.shelf_life_days = 20 + i32::from(hours);
                self.revise("projects/office/makerSheets/ms-1", sheet).await;
            }
            10 => {
                let plan = |plan: &mut Plan| {
                    plan.source = plan.source.replace("value = 48\n", "value = 24\n");
                };
                self.revise(&full("plans/itp"), plan).await;
            }
            _ => {
                let alone = Document {
                    evidence_kind: "key".into(),
                    ..Document::default()
                };
                let name = format!("projects/office/documents/k-{}", self.wrote);
                self.write(&name, &alone).await;
            }
        }
    }
}

fn references<M: Message + Name>(message: &M) -> Vec<String> {
    let kind = obvert_proto::pool()
        .get_message_by_name(&M::full_name())
        .unwrap();
    let message =
        prost_reflect::DynamicMessage::decode(kind, &message.encode_to_vec()[..]).unwrap();
    let mut names: Vec<_> = obvert_proto::rules::references(&message)
        .into_iter()
        .map(|reference| reference.name)
        .collect();
    names.sort();
    names.dedup();
    names
}

fn deviation(subject: &str) -> Nonconformance {
    Nonconformance {
        subjects: vec![subject.into()],
        description: "soft spot at 12 m".into(),
        disposition: Disposition::Unspecified.into(),
        ..Nonconformance::default()
    }
}

fn paper(subject: &str) -> Document {
    Document {
        evidence_kind: "cleaning-log".into(),
        subjects: vec![subject.into()],
        signed_by: "crew lead".into(),
        signed_date: on("2026-05-04"),
        ..Document::default()
    }
}

#[test]
fn kept_statuses_equal_full_evaluations_after_any_commits() {
    let long = std::env::var_os("OBVERT_LONG").is_some();
    let mut runner = TestRunner::new(Config {
        cases: if long { 60 } else { 6 },
        failure_persistence: None,
        ..Config::default()
    });
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let changes = proptest::collection::vec((any::<u8>(), any::<u8>(), 0_u8..30), 1..12);
    // What there is no room for is worked out again, to the same end.
    let narrow = Room {
        statuses: 2,
        office_names: 1,
    };
    runner
        .run(
            &(any::<bool>(), any::<bool>(), changes),
            |(strict, is_narrow, changes)| {
                let room = if is_narrow { narrow } else { Room::default() };
                runtime.block_on(async {
                    let mut project = Project::filled_with(strict, room).await;
                    project.compare().await;
                    for (kind, segment, hours) in changes {
                        project.change(kind, segment, hours).await;
                        project.compare().await;
                    }
                });
                Ok(())
            },
        )
        .unwrap();
}

#[tokio::test]
async fn a_commit_has_only_the_segments_evaluated_that_it_touches() {
    let mut project = Project::filled(false).await;
    assert_eq!(project.compare().await, 3, "nothing is kept at the start");
    assert_eq!(project.compare().await, 0, "nothing was written");
    project.change(0, 1, 0).await;
    assert_eq!(project.compare().await, 1, "a deviation of one segment");
    project.change(11, 0, 0).await;
    assert_eq!(
        project.compare().await,
        0,
        "a record of office that nobody names"
    );
    project.change(9, 0, 0).await;
    project
        .write(
            &full("parcels/p-9"),
            &obvert_proto::project::v1::Parcel::default(),
        )
        .await;
    assert_eq!(project.compare().await, 1, "the maker's sheet of one liner");
    project.change(3, 0, 0).await;
    assert_eq!(
        project.compare().await,
        3,
        "a paper about the whole project"
    );
    project.change(1, 2, 20).await;
    assert_eq!(project.compare().await, 3, "another day on site");
}

#[tokio::test]
async fn a_status_says_since_when_it_stands() {
    let mut project = Project::filled(false).await;
    let since = async |project: &mut Project, of: &str| {
        project
            .write(&full("parcels/p-elsewhere"), &Parcel::default())
            .await;
        let now = project.statuses.now("quillfern").await.unwrap();
        let name = full(&format!("segments/{of}"));
        let from = project.statuses.evaluated_at(&name, now).await.unwrap();
        (from, now.revision)
    };
    let (first, now) = since(&mut project, "s-1").await;
    assert_eq!(first, now);
    let (again, now) = since(&mut project, "s-1").await;
    assert!(again == first && now > first);
    let about_another = deviation(&full("segments/s-2"));
    project
        .write(&full("nonconformances/n-2"), &about_another)
        .await;
    assert_eq!(since(&mut project, "s-1").await.0, first);
    let about_it = deviation(SEGMENT);
    project.write(&full("nonconformances/n-1"), &about_it).await;
    assert!(since(&mut project, "s-1").await.0 > first);
}

#[tokio::test]
async fn a_status_that_is_asked_for_late_is_of_its_moment() {
    let mut project = Project::filled(false).await;
    let then = project.statuses.now("quillfern").await.unwrap();
    project.compare().await;
    project.change(0, 0, 0).await;
    project.compare().await;
    let kept = project.statuses.at(SEGMENT, then).await.unwrap();
    let whole = load_segment(&project.ledger, SEGMENT, then.revision)
        .await
        .unwrap();
    assert_eq!(kept, whole.status());
}

#[tokio::test]
async fn copies_of_a_segment_stand_as_the_first_and_each_rests_on_its_own_records() {
    let folder = tempfile::tempdir().unwrap();
    let ledger = Ledger::open(LedgerConfig::new(folder.path())).await;
    let ledger = ledger.unwrap();
    let mut fixture = clean_under(STRICT);
    store::fill_under(&ledger, &mut fixture, STRICT).await;
    many::copy(&ledger, &fixture, 5).await;
    let statuses = Statuses::new(ledger.clone());
    let now = statuses.now("quillfern").await.unwrap();
    let mut verdicts = Vec::new();
    for number in 0..=5 {
        let status = statuses.at(&many::segment(number), now).await.unwrap();
        let said = status.points.iter().map(|p| (p.point.clone(), p.verdict()));
        verdicts.push(said.collect::<Vec<_>>());
        let used = status.points.iter().flat_map(|p| &p.evidence);
        let own = used.filter(|e| {
            e.record
                .as_ref()
                .unwrap()
                .name
                .ends_with(&format!("-{number}"))
        });
        assert_eq!(own.count() > 20, number > 0, "segment {number}");
    }
    assert!(
        verdicts.windows(2).all(|two| two[0] == two[1]),
        "{verdicts:?}"
    );
    assert_eq!(statuses.evaluation_count(), 6);
}
