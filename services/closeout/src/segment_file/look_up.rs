//! The records of a file by what they are to the segment.

use std::collections::BTreeSet;

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Survey, SurveyPurpose},
    closeout::v1::EvidenceUsed,
    dates::unix_ms,
    design::v1::WallDesign,
    installation::v1::{CureRecord, Run, RunOutcome, StepKind},
    kind_in_words,
    material::v1::{Liner, LinerOrder, MovementKind},
    project::v1::{FieldSurvey, LateralRegister},
};
use obvert_records::names;

use super::{Kept, SegmentFile, step_start_ms};

/// Record of a name.
pub fn by_name<'a, M>(kept: &'a [Kept<M>], name: &str) -> Option<&'a Kept<M>> {
    kept.iter().find(|record| record.name == name)
}

impl SegmentFile {
    /// Runs that put a liner into the segment: all but those given up before the lamps were lit, in
    /// order of pull-in.
    pub fn lining_runs(&self) -> Vec<&Kept<Run>> {
        let lined = |run: &&Kept<Run>| run.outcome() != RunOutcome::AbortedBeforeLights;
        let mut runs: Vec<_> = self.runs.iter().filter(lined).collect();
        runs.sort_by_key(|run| (step_start_ms(run, StepKind::PullIn), &run.name));
        runs
    }

    /// Start of the first pull-in.
    pub fn first_pull_in_ms(&self) -> Option<i64> {
        let runs = self.lining_runs();
        runs.iter()
            .filter_map(|run| step_start_ms(run, StepKind::PullIn))
            .min()
    }

    /// Names of the liners that lie in the segment, or are meant for it while none does. A name is
    /// listed whether or not its record is on file.
    pub fn liner_names_in_force(&self) -> Vec<String> {
        let runs = self.lining_runs();
        let names: BTreeSet<String> = if runs.is_empty() {
            let gone = [MovementKind::Returned, MovementKind::Scrapped];
            let is_gone = |liner: &Kept<Liner>| {
                let mut moves = self.movements.iter().filter(|m| m.liner == liner.name);
                moves.any(|m| gone.contains(&m.movement()))
            };
            let meant = self
                .liners
                .iter()
                .filter(|liner| self.is_ordered(&liner.order));
            meant
                .filter(|liner| !is_gone(liner))
                .map(|liner| liner.name.clone())
                .collect()
        } else {
            runs.iter().map(|run| run.liner.clone()).collect()
        };
        names.into_iter().collect()
    }

    /// Liners in force whose record is on file.
    pub fn liners_in_force(&self) -> Vec<&Kept<Liner>> {
        let names = self.liner_names_in_force();
        names
            .iter()
            .filter_map(|name| by_name(&self.liners, name))
            .collect()
    }

    /// Names of the orders that those liners fill, or of all orders for the segment while there is
    /// no liner.
    pub fn order_names_in_force(&self) -> Vec<String> {
        let liners = self.liners_in_force();
        let names: BTreeSet<String> = if liners.is_empty() {
            let own = |order: &&Kept<LinerOrder>| self.is_ordered(&order.name);
            self.orders
                .iter()
                .filter(own)
                .map(|order| order.name.clone())
                .collect()
        } else {
            liners.iter().map(|liner| liner.order.clone()).collect()
        };
        names.into_iter().collect()
    }

    /// Orders in force whose record is on file.
    pub fn orders_in_force(&self) -> Vec<&Kept<LinerOrder>> {
        let names = self.order_names_in_force();
        names
            .iter()
            .filter_map(|name| by_name(&self.orders, name))
            .collect()
    }

    /// Whether an order of that name is for this segment.
    pub fn is_ordered(&self, order: &str) -> bool {
        by_name(&self.orders, order)
            .is_some_and(|order| order.segments.iter().any(|s| s.segment == self.name))
    }

    /// The design written last.
    pub fn design(&self) -> Option<&Kept<WallDesign>> {
        self.designs.iter().max_by_key(|design| design.revision)
    }

    /// The field survey made last.
    pub fn field_survey(&self) -> Option<&Kept<FieldSurvey>> {
        let time = |survey: &&Kept<FieldSurvey>| survey.survey_time.as_ref().map(unix_ms);
        self.field_surveys.iter().max_by_key(time)
    }

    /// The register signed last.
    pub fn register(&self) -> Option<&Kept<LateralRegister>> {
        let time = |register: &&Kept<LateralRegister>| register.signed_time.as_ref().map(unix_ms);
        self.registers.iter().max_by_key(time)
    }

    /// Surveys of a purpose in order of time.
    pub fn surveys_of(&self, purpose: SurveyPurpose) -> Vec<&Kept<Survey>> {
        let mut surveys: Vec<_> = self
            .surveys
            .iter()
            .filter(|survey| survey.purpose() == purpose)
            .collect();
        surveys.sort_by_key(|survey| survey.start_time.as_ref().map(unix_ms));
        surveys
    }

    /// The last survey after lining or after a repair.
    pub fn last_post_survey(&self) -> Option<&Kept<Survey>> {
        let post = [SurveyPurpose::PostLining, SurveyPurpose::PostRepair];
        let surveys = self
            .surveys
            .iter()
            .filter(|survey| post.contains(&survey.purpose()));
        surveys.max_by_key(|survey| survey.start_time.as_ref().map(unix_ms))
    }

    /// Cure logs of a run, in order of names.
    pub fn cure_logs_of(&self, run: &str) -> Vec<&Kept<CureRecord>> {
        let logs = self.cure_records.iter();
        logs.filter(|log| log.run == run).collect()
    }

    /// When the first lateral of a run was opened, by its steps or by an outcome.
    pub fn reopened_ms(&self, run: &Kept<Run>) -> Option<i64> {
        let outcomes = self.outcomes.iter().filter(|of| of.run == run.name);
        let opened = outcomes.filter_map(|outcome| outcome.opened_time.as_ref().map(unix_ms));
        let step = step_start_ms(run, StepKind::Reopening);
        opened.chain(step).min()
    }

    /// Laboratory reports on samples of a run, in order of names.
    pub fn reports_of(&self, run: &str) -> Vec<&Kept<LaboratoryReport>> {
        let of_run = |report: &&Kept<LaboratoryReport>| {
            by_name(&self.samples, &report.sample).is_some_and(|sample| sample.run == run)
        };
        self.reports.iter().filter(of_run).collect()
    }

    /// Number by which people call a record, on file or not.
    pub fn number_of(&self, name: &str) -> String {
        macro_rules! look {
            ($($list:ident),*) => {
                $(if let Some(kept) = by_name(&self.$list, name) {
                    return kept.number();
                })*
            };
        }
        // The kinds that have a number of their own.
        look!(segments, parcels, documents, certificates, liners, batches);
        look!(
            samples,
            other_samples,
            reports,
            other_reports,
            nonconformances
        );
        names::number_of(name)
    }

    /// Kind and number of a record, such as "laboratory report FM-25-007".
    pub fn called(&self, used: &EvidenceUsed) -> String {
        let name = used.record.as_ref().map_or("", |record| &record.name);
        format!(
            "{} {}",
            kind_in_words(&used.evidence_kind),
            self.number_of(name)
        )
    }
}

/// Least and largest diameter that a field survey read, in mm; infinite and 0 when it read none.
pub(crate) fn diameters_mm(survey: &FieldSurvey) -> (f64, f64) {
    let read = survey.diameters.iter();
    read.fold((f64::INFINITY, 0.0), |(least, most), place| {
        (
            least.min(place.min_diameter_mm),
            f64::max(most, place.max_diameter_mm),
        )
    })
}
