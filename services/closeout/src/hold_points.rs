//! The built-in evaluators: each says of one segment's evidence whether a point may be passed.
//!
//! One file holds one evaluator. Its doc block says what it holds, why, when it is released, on
//! which evidence, with which parameters, and where the rule comes from. An evaluator is a pure
//! function of [`Judging`]; it reads no clock and no store, and it bounds nothing by a number of
//! its own: limits come from the plan.
//!
//! Invariants: without evidence nothing is released, which [`Judgement::outcome`] enforces for all;
//! paper below the least grade of the point holds, and so does one that somebody found to differ
//! from its original, which [`Judgement::uses`] enforces; facts are
//! values, never revisions, so a correction that changes no value leaves a release standing.

mod batch_coverage;
mod certified_wall;
mod cure_log;
mod cure_window;
mod date_order;
mod evidence_present;
mod field_survey;
mod final_acceptance;
mod found;
mod host_diameter;
mod judgement;
mod laboratory_report;
mod lateral_alignment;
mod lateral_register;
mod lateral_stations;
mod laterals_reopened;
mod leak_test;
mod length_closure;
mod lined_capacity;
mod liner_identity;
mod measured_wall;
mod nonconformances_closed;
mod ordered_length;
mod ordered_wall;
pub(crate) mod paper;
mod planned_pull_in;
mod plug_in;
mod post_lining_cctv;
mod pressure_wall;
mod property_release;
mod pull_in;
mod ready_to_line;
mod received_liner;
mod resident_notice;
mod right_of_entry;
mod sample_trace;
mod sealed_design;
mod shelf_life;
mod step_order;
mod survey_present;
mod words;

use obvert_proto::{
    closeout::v1::{EvidenceUsed, PointStatus, Verdict},
    common::v1::Finding,
};

use crate::{
    plan::{Limit, Operator, ParameterValue, PlanText, Point},
    segment_file::SegmentFile,
};

pub use found::{Found, figure, found};
pub use judgement::Judgement;
pub(crate) use judgement::kind_word;
pub(crate) use plug_in::{asks, settings};

/// One evaluator.
#[derive(Debug)]
pub struct Evaluator {
    /// Name by which plans call it.
    pub name: &'static str,
    /// What it proves, in words.
    pub proves: &'static str,
    /// Parameters a plan may set.
    pub parameters: &'static [ParameterKind],
    /// Limits it needs from the plan.
    pub limits: &'static [(&'static str, Operator)],
    /// Kinds of record it looks at.
    pub evidence: &'static [&'static str],
    /// The judgement itself.
    pub judge: fn(&Judging<'_>) -> Outcome,
}

/// One parameter of an evaluator.
#[derive(Debug)]
pub struct ParameterKind {
    /// Name.
    pub name: &'static str,
    /// Form of its value.
    pub form: ParameterForm,
    /// Whether a plan must set it.
    pub required: bool,
    /// Words it may be; empty for any.
    pub choices: &'static [&'static str],
    /// What it does, and what holds when it is left out.
    pub meaning: &'static str,
}

/// Form of a parameter's value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ParameterForm {
    /// One word or text.
    Text,
    /// A list of words.
    Words,
    /// Yes or no.
    Flag,
    /// A list of `name=value`.
    Settings,
}

/// What an evaluator judges by.
#[derive(Debug, Clone, Copy)]
pub struct Judging<'a> {
    /// The segment's file.
    pub file: &'a SegmentFile,
    /// The plan.
    pub plan: &'a PlanText,
    /// The point.
    pub point: &'a Point,
    /// Where the points before it stand.
    pub before: &'a [PointStatus],
}

/// What an evaluator says.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Released, held, or not applicable.
    pub verdict: Verdict,
    /// Why the point does not apply.
    pub not_applicable_reason: String,
    /// Findings behind the verdict.
    pub findings: Vec<Finding>,
    /// Evidence used.
    pub evidence: Vec<EvidenceUsed>,
    /// Digest of the facts: values, limits and what holds, never revisions.
    pub facts_digest: [u8; 32],
}

/// Every evaluator, in the order of the work.
pub static EVALUATORS: &[Evaluator] = &[
    lateral_register::EVALUATOR,
    field_survey::EVALUATOR,
    sealed_design::EVALUATOR,
    ordered_wall::EVALUATOR,
    pressure_wall::EVALUATOR,
    lined_capacity::EVALUATOR,
    host_diameter::EVALUATOR,
    ordered_length::EVALUATOR,
    certified_wall::EVALUATOR,
    received_liner::EVALUATOR,
    liner_identity::EVALUATOR,
    shelf_life::EVALUATOR,
    right_of_entry::EVALUATOR,
    resident_notice::EVALUATOR,
    ready_to_line::EVALUATOR,
    planned_pull_in::EVALUATOR,
    pull_in::EVALUATOR,
    step_order::EVALUATOR,
    cure_log::EVALUATOR,
    sample_trace::EVALUATOR,
    laboratory_report::EVALUATOR,
    measured_wall::EVALUATOR,
    batch_coverage::EVALUATOR,
    leak_test::EVALUATOR,
    laterals_reopened::EVALUATOR,
    lateral_stations::EVALUATOR,
    post_lining_cctv::EVALUATOR,
    length_closure::EVALUATOR,
    date_order::EVALUATOR,
    nonconformances_closed::EVALUATOR,
    survey_present::EVALUATOR,
    property_release::EVALUATOR,
    evidence_present::EVALUATOR,
    plug_in::EVALUATOR,
    final_acceptance::EVALUATOR,
];

impl Evaluator {
    /// Evaluator of a name.
    pub fn of(name: &str) -> Option<&'static Evaluator> {
        EVALUATORS.iter().find(|evaluator| evaluator.name == name)
    }
}

impl ParameterKind {
    pub(crate) const fn flag(name: &'static str, meaning: &'static str) -> Self {
        Self {
            name,
            form: ParameterForm::Flag,
            required: false,
            choices: &[],
            meaning,
        }
    }

    pub(crate) const fn text(
        name: &'static str,
        choices: &'static [&'static str],
        meaning: &'static str,
    ) -> Self {
        Self {
            name,
            form: ParameterForm::Text,
            required: false,
            choices,
            meaning,
        }
    }

    pub(crate) const fn words(
        name: &'static str,
        choices: &'static [&'static str],
        meaning: &'static str,
    ) -> Self {
        Self {
            name,
            form: ParameterForm::Words,
            required: false,
            choices,
            meaning,
        }
    }

    pub(crate) const fn settings(name: &'static str, meaning: &'static str) -> Self {
        Self {
            name,
            form: ParameterForm::Settings,
            required: false,
            choices: &[],
            meaning,
        }
    }

    pub(crate) const fn needed(self) -> Self {
        Self {
            required: true,
            ..self
        }
    }
}

impl ParameterForm {
    /// How to write it, for messages.
    pub fn words(self) -> &'static str {
        match self {
            Self::Text => "a text in quotes",
            Self::Words => "a list of texts",
            Self::Flag => "true or false",
            Self::Settings => "a list of \"name=value\"",
        }
    }
}

impl<'a> Judging<'a> {
    /// A judgement without findings yet.
    pub fn start(&self) -> Judgement<'a> {
        Judgement::new(*self)
    }

    /// Limit of the plan.
    pub fn limit(&self, (parameter, operator): (&str, Operator)) -> Option<&'a Limit> {
        self.plan.limit(parameter, operator)
    }

    /// Yes or no of the plan, or what holds when it is left out.
    pub fn flag(&self, name: &str, otherwise: bool) -> bool {
        match self.point.parameter(name) {
            Some(ParameterValue::Flag(flag)) => *flag,
            _ => otherwise,
        }
    }

    /// Text of the plan.
    pub fn text(&self, name: &str) -> Option<&'a str> {
        match self.point.parameter(name) {
            Some(ParameterValue::Text(text)) => Some(text),
            _ => None,
        }
    }

    /// Words of the plan; empty when they are left out.
    pub fn words(&self, name: &str) -> &'a [String] {
        match self.point.parameter(name) {
            Some(ParameterValue::Words(words)) => words,
            _ => &[],
        }
    }
}
