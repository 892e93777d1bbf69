//! Everything on file about one segment at one revision, typed and sorted out.
//!
//! [`SegmentFile::from_records`] takes plain stored records, so that a test can take any one of
//! them out and see what the plan then says. It decides only what belongs to the segment; it judges
//! nothing. A record that cannot be decoded counts as missing, and what is missing holds.

mod kept;
mod look_up;
mod run_steps;
mod sort_out;
mod words;

use std::collections::BTreeMap;

use jiff::{Timestamp, civil::Date, tz::TimeZone};
use obvert_ledger::Stored;
use obvert_proto::{
    acceptance::v1::{LaboratoryReport, LeakTest, Nonconformance, Sample, Survey},
    closeout::v1::{Claim, Package, Plan, PluginSection, PluginVerdict, Release},
    common::v1::{PaperGrade, RecordRef},
    design::v1::{HydraulicCheck, PressureDesign, PullInCheck, WallDesign},
    installation::v1::{CureRecord, DayClose, LateralOutcome, Run},
    material::v1::{
        Batch, Liner, LinerCertificate, LinerMovement, LinerOrder, MakerSheet, ReceivingCheck,
    },
    project::v1::{
        AccessPermit, Attachment, Document, FieldSurvey, Lateral, LateralRegister, Notice, Parcel,
        ParcelRelation, Project, Segment,
    },
};

use obvert_records::paper::Standing;

use crate::{LiningOrder, moved::Moved};

pub use kept::Kept;
pub use look_up::by_name;
pub(crate) use look_up::diameters_mm;
pub(crate) use run_steps::ahead_ms;
pub use run_steps::{step_end_ms, step_start_ms, steps};
pub(crate) use sort_out::is_evidence;
pub use words::Evidence;

/// Everything that one evaluation reads.
#[derive(Debug, Clone)]
pub struct Gathered {
    /// Full name of the segment.
    pub segment: String,
    /// Revision of the project.
    pub revision: i64,
    /// Time of that revision's commit, in milliseconds since 1970-01-01T00:00:00Z.
    pub commit_time_ms: i64,
    /// The project's own record.
    pub project: Stored,
    /// Latest states at the revision, sorted by name, each once. Records of `office` are in the
    /// state they had at the commit's time.
    pub records: Vec<Stored>,
    /// Older states that rules look at, such as the design revision that an order names, or the
    /// plan by which a point was released.
    pub former: Vec<Stored>,
    /// Names of the nonconformances that the ledger lists for the segment. One that is not among the
    /// records, or cannot be read, holds.
    pub nonconformances: Vec<String>,
    /// Records that a revision moved off the segment, in the state that did.
    pub moved_away: Vec<Stored>,
    /// Order of lining, where the plan samples segments by it; else empty.
    pub lining_order: LiningOrder,
}

/// The file of one segment. Every list is in order of names and holds what concerns this segment,
/// unless its comment says otherwise.
#[derive(Debug, Clone)]
pub struct SegmentFile {
    /// Full name of the segment.
    pub name: String,
    /// Revision of the project.
    pub revision: i64,
    /// Time of evaluation: that revision's commit, in milliseconds since 1970-01-01T00:00:00Z.
    pub commit_time_ms: i64,
    /// Time zone of the site.
    pub zone: TimeZone,
    /// Contract data sheet.
    pub project: Kept<Project>,
    /// The segment itself and those it shares a run or an order with.
    pub segments: Vec<Kept<Segment>>,
    /// Laterals of the segment.
    pub laterals: Vec<Kept<Lateral>>,
    /// Signed registers of its laterals.
    pub registers: Vec<Kept<LateralRegister>>,
    /// Parcels met.
    pub parcels: Vec<Kept<Parcel>>,
    /// How parcels have to do with the segment.
    pub relations: Vec<Kept<ParcelRelation>>,
    /// Field surveys.
    pub field_surveys: Vec<Kept<FieldSurvey>>,
    /// Papers about any record met.
    pub documents: Vec<Kept<Document>>,
    /// Files met.
    pub attachments: Vec<Kept<Attachment>>,
    /// Notices that name the segment.
    pub notices: Vec<Kept<Notice>>,
    /// Rights to enter the parcels met.
    pub permits: Vec<Kept<AccessPermit>>,
    /// Designs of the segment.
    pub designs: Vec<Kept<WallDesign>>,
    /// Hydraulic checks of the segment.
    pub hydraulic_checks: Vec<Kept<HydraulicCheck>>,
    /// Pressure designs of the segment.
    pub pressure_designs: Vec<Kept<PressureDesign>>,
    /// Pull-in checks that name the segment.
    pub pull_in_checks: Vec<Kept<PullInCheck>>,
    /// Makers' sheets met.
    pub maker_sheets: Vec<Kept<MakerSheet>>,
    /// Orders met, those of other segments included, so that a swapped liner can be told.
    pub orders: Vec<Kept<LinerOrder>>,
    /// Batches met.
    pub batches: Vec<Kept<Batch>>,
    /// Liners met.
    pub liners: Vec<Kept<Liner>>,
    /// Makers' certificates met.
    pub certificates: Vec<Kept<LinerCertificate>>,
    /// Checks on arrival met.
    pub receiving_checks: Vec<Kept<ReceivingCheck>>,
    /// Movements of liners met.
    pub movements: Vec<Kept<LinerMovement>>,
    /// Runs over the segment.
    pub runs: Vec<Kept<Run>>,
    /// Runs over other segments, met through a shared batch.
    pub other_runs: Vec<Kept<Run>>,
    /// Cure logs filed for runs over the segment.
    pub cure_records: Vec<Kept<CureRecord>>,
    /// What became of the segment's laterals.
    pub outcomes: Vec<Kept<LateralOutcome>>,
    /// Days on which the segment was worked on.
    pub day_closes: Vec<Kept<DayClose>>,
    /// Samples that stand for the segment.
    pub samples: Vec<Kept<Sample>>,
    /// Samples of other segments, met through a shared run or batch.
    pub other_samples: Vec<Kept<Sample>>,
    /// Laboratory reports on the segment's samples, or on samples nobody knows.
    pub reports: Vec<Kept<LaboratoryReport>>,
    /// Laboratory reports on other segments' samples.
    pub other_reports: Vec<Kept<LaboratoryReport>>,
    /// Leak tests of the segment.
    pub leak_tests: Vec<Kept<LeakTest>>,
    /// CCTV surveys of the segment.
    pub surveys: Vec<Kept<Survey>>,
    /// Nonconformances that are not only about other segments.
    pub nonconformances: Vec<Kept<Nonconformance>>,
    /// Names of nonconformances that the ledger lists and nobody can read.
    pub lost_nonconformances: Vec<String>,
    /// Records that a revision moved off the segment.
    pub moved_away: Vec<Moved>,
    /// Turn in the order of lining, where the plan samples segments by it.
    pub lining_turn: Option<usize>,
    /// Claims raised after acceptance.
    pub claims: Vec<Kept<Claim>>,
    /// Older states of the plan by which points were released.
    pub former_plans: Vec<Kept<Plan>>,
    /// Releases of the segment's points.
    pub releases: Vec<Kept<Release>>,
    /// Packages issued for the segment.
    pub packages: Vec<Kept<Package>>,
    /// Verdicts of plug-ins on the segment.
    pub plugin_verdicts: Vec<Kept<PluginVerdict>>,
    /// Sections that plug-ins wrote for the segment's package.
    pub plugin_sections: Vec<Kept<PluginSection>>,
    /// Older states of designs.
    pub former_designs: Vec<Kept<WallDesign>>,
    /// First states of samples that were revised since.
    pub former_samples: Vec<Kept<Sample>>,
    /// How good each paper met is, by its name.
    pub standings: BTreeMap<String, Standing>,
    /// Who wrote the latest state of each record met, at which revision.
    written: BTreeMap<String, (String, i64)>,
    evidence_digest: [u8; 32],
}

impl SegmentFile {
    /// The segment's own record.
    pub fn segment(&self) -> Option<&Kept<Segment>> {
        by_name(&self.segments, &self.name)
    }

    /// The owner's identifier of the segment.
    pub fn segment_number(&self) -> String {
        self.number_of(&self.name)
    }

    /// Last part of the segment's name.
    pub fn segment_id(&self) -> &str {
        obvert_records::names::id_of(&self.name)
    }

    /// Grade of a paper; unspecified for a record that is none.
    pub fn grade(&self, name: &str) -> PaperGrade {
        let standing = self.standings.get(name);
        standing.map_or(PaperGrade::Unspecified, |standing| standing.grade)
    }

    /// Who wrote the latest state of a record; empty for one that was not met.
    pub fn writer(&self, name: &str) -> &str {
        self.written
            .get(name)
            .map_or("", |(principal, _)| principal.as_str())
    }

    /// A record that was met, with its revision.
    pub fn reference(&self, name: &str) -> Option<RecordRef> {
        let (_, revision) = self.written.get(name)?;
        Some(RecordRef {
            name: name.to_owned(),
            revision: *revision,
        })
    }

    /// Date on site at an instant.
    pub fn local_date(&self, ms: i64) -> Date {
        let instant = Timestamp::from_millisecond(ms).unwrap_or_default();
        instant.to_zoned_datetime(self.zone.clone()).date()
    }

    /// Date and time on site at an instant, for messages: `2026-05-04 13:02`.
    pub fn local_time(&self, ms: i64) -> String {
        let instant = Timestamp::from_millisecond(ms).unwrap_or_default();
        instant
            .to_zoned_datetime(self.zone.clone())
            .strftime("%Y-%m-%d %H:%M")
            .to_string()
    }

    /// SHA-256 over names and revisions of all evidence; a plug-in's verdict rests on it.
    pub fn evidence_digest(&self) -> [u8; 32] {
        self.evidence_digest
    }
}
