//! Which records concern the segment.

use std::collections::BTreeSet;

use jiff::tz::TimeZone;
use obvert_ledger::Stored;
use obvert_proto::{
    acceptance::v1::{LaboratoryReport, LeakTest, Nonconformance, Sample, Survey},
    closeout::v1::{Claim, Package, PluginSection, PluginVerdict, Release},
    design::v1::{HydraulicCheck, PressureDesign, PullInCheck, WallDesign},
    installation::v1::{CureRecord, DayClose, LateralOutcome, Run},
    project::v1::{
        FieldSurvey, IssuerLink, Lateral, LateralRegister, Notice, ParcelRelation, Project, Segment,
    },
};
use obvert_records::paper;
use prost::{Message, Name};
use sha2::{Digest, Sha256};

use super::{Gathered, Kept, SegmentFile};
use crate::moved::Moved;

impl SegmentFile {
    /// Sorts out the records of one segment.
    pub fn from_records(gathered: &Gathered) -> Self {
        let own = gathered.segment.as_str();
        let all = &gathered.records;
        let (laterals, other_laterals) = parted(all, |m: &Lateral| m.segment == own);
        let (samples, other_samples) = parted(all, |m: &Sample| m.segment == own);
        let (surveys, other_surveys) = parted(all, |m: &Survey| m.segment == own);
        let (leak_tests, other_leak_tests) = parted(all, |m: &LeakTest| m.segment == own);
        let (runs, other_runs) = parted(all, |m: &Run| m.segments.iter().any(|s| s == own));
        let foreign_laterals = names_of(&other_laterals);
        let foreign_samples = names_of(&other_samples);
        let (reports, other_reports) = parted(all, |m: &LaboratoryReport| {
            !foreign_samples.contains(&m.sample)
        });
        let (outcomes, other_outcomes) = parted(all, |m: &LateralOutcome| {
            !foreign_laterals.contains(&m.lateral)
        });
        let mut foreign: BTreeSet<String> = every::<Segment>(all)
            .into_iter()
            .map(|segment| segment.name)
            .collect();
        foreign.remove(own);
        foreign.extend(foreign_laterals);
        foreign.extend(foreign_samples);
        foreign.extend(names_of(&other_surveys));
        foreign.extend(names_of(&other_leak_tests));
        foreign.extend(names_of(&other_runs));
        foreign.extend(names_of(&other_reports));
        foreign.extend(names_of(&other_outcomes));
        let nonconformances = some(all, |m: &Nonconformance| {
            m.subjects.iter().any(|subject| !foreign.contains(subject))
        });
        let unread = |name: &&String| !nonconformances.iter().any(|kept| kept.name == **name);
        let listed = gathered.nonconformances.iter();
        let lost_nonconformances = listed.filter(unread).cloned().collect();
        let of_run = |run: &String| runs.iter().any(|kept| kept.name == *run);
        Self {
            cure_records: some(all, |m: &CureRecord| of_run(&m.run)),
            day_closes: some(all, |m: &DayClose| m.runs.iter().any(of_run)),
            nonconformances,
            lost_nonconformances,
            laterals,
            runs,
            other_runs,
            outcomes,
            samples,
            other_samples,
            reports,
            other_reports,
            leak_tests,
            surveys,
            ..Self::plain(gathered)
        }
    }

    /// The lists that need no look at other records; the rest are empty.
    fn plain(gathered: &Gathered) -> Self {
        let own = gathered.segment.as_str();
        let all = &gathered.records;
        let project = project_of(gathered);
        Self {
            name: own.to_owned(),
            revision: gathered.revision,
            commit_time_ms: gathered.commit_time_ms,
            zone: TimeZone::get(&project.time_zone).unwrap_or(TimeZone::UTC),
            project,
            segments: every(all),
            registers: some(all, |m: &LateralRegister| m.segment == own),
            parcels: every(all),
            relations: some(all, |m: &ParcelRelation| m.segment == own),
            field_surveys: some(all, |m: &FieldSurvey| m.segment == own),
            documents: every(all),
            attachments: every(all),
            notices: some(all, |m: &Notice| m.segments.iter().any(|s| s == own)),
            permits: every(all),
            designs: some(all, |m: &WallDesign| m.segment == own),
            hydraulic_checks: some(all, |m: &HydraulicCheck| m.segment == own),
            pressure_designs: some(all, |m: &PressureDesign| m.segment == own),
            pull_in_checks: some(all, |m: &PullInCheck| m.segments.iter().any(|s| s == own)),
            maker_sheets: every(all),
            orders: every(all),
            batches: every(all),
            liners: every(all),
            certificates: every(all),
            receiving_checks: every(all),
            movements: every(all),
            moved_away: gathered.moved_away.iter().map(Moved::of).collect(),
            lining_turn: gathered.lining_order.turn(own),
            claims: some(all, |m: &Claim| m.segment == own),
            former_plans: every(&gathered.former),
            releases: some(all, |m: &Release| m.segment == own),
            packages: some(all, |m: &Package| m.segment == own),
            plugin_verdicts: some(all, |m: &PluginVerdict| m.segment == own),
            plugin_sections: some(all, |m: &PluginSection| m.segment == own),
            former_designs: every(&gathered.former),
            former_samples: every(&gathered.former),
            standings: paper::standings(all),
            written: all
                .iter()
                .map(|stored| {
                    let by = (stored.caller.principal.clone(), stored.revision);
                    (stored.name.clone(), by)
                })
                .collect(),
            evidence_digest: digest_of(all),
            laterals: Vec::new(),
            runs: Vec::new(),
            other_runs: Vec::new(),
            cure_records: Vec::new(),
            outcomes: Vec::new(),
            day_closes: Vec::new(),
            samples: Vec::new(),
            other_samples: Vec::new(),
            reports: Vec::new(),
            other_reports: Vec::new(),
            leak_tests: Vec::new(),
            surveys: Vec::new(),
            nonconformances: Vec::new(),
            lost_nonconformances: Vec::new(),
        }
    }
}

fn project_of(gathered: &Gathered) -> Kept<Project> {
    Kept::read(&gathered.project).unwrap_or_else(|| Kept {
        name: gathered.project.name.clone(),
        revision: gathered.project.revision,
        create_revision: gathered.project.create_revision,
        commit_time_ms: gathered.project.commit_time_ms,
        observed_time_ms: None,
        principal: String::new(),
        role: String::new(),
        reason: String::new(),
        message: Project::default(),
    })
}

fn every<M: Message + Name + Default>(all: &[Stored]) -> Vec<Kept<M>> {
    all.iter().filter_map(Kept::read).collect()
}

fn some<M: Message + Name + Default>(all: &[Stored], own: impl Fn(&M) -> bool) -> Vec<Kept<M>> {
    let mut kept = every(all);
    kept.retain(|record: &Kept<M>| own(record));
    kept
}

fn parted<M: Message + Name + Default>(
    all: &[Stored],
    own: impl Fn(&M) -> bool,
) -> (Vec<Kept<M>>, Vec<Kept<M>>) {
    every(all)
        .into_iter()
        .partition(|record: &Kept<M>| own(record))
}

fn names_of<M>(kept: &[Kept<M>]) -> BTreeSet<String> {
    kept.iter().map(|record| record.name.clone()).collect()
}

/// Whether a record is evidence: what evaluation itself writes is none.
pub(crate) fn is_evidence(stored: &Stored) -> bool {
    let own = [
        Release::full_name(),
        Claim::full_name(),
        Package::full_name(),
        PluginVerdict::full_name(),
        PluginSection::full_name(),
        // A question put to an issuer is no evidence; its answer is.
        IssuerLink::full_name(),
    ];
    !own.contains(&stored.type_name)
}

/// Digest over names and revisions of the evidence.
fn digest_of(all: &[Stored]) -> [u8; 32] {
    let mut digest = Sha256::new();
    for stored in all.iter().filter(|stored| is_evidence(stored)) {
        digest.update(format!("{}@{}\n", stored.name, stored.revision));
    }
    digest.finalize().into()
}
