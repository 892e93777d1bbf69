//! Points of the plan, their releases and variances.

use serde::Serialize;

use super::State;

/// A hold, witness or review point of the plan and its verdict.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Point {
    /// Id in the plan.
    pub id: String,
    /// What the point asks, in one line.
    pub title: String,
    /// The stage of the work, such as `before pull-in`.
    pub stage: String,
    /// `hold`, `witness` or `review`.
    pub class: String,
    /// `released`, `held`, `lapsed after notice`, `not applicable`, with its shape.
    pub state: State,
    /// Who released it. `None` for a point that is held or not applicable.
    pub release: Option<Release>,
    /// Records the verdict rests on, each `name@revision`.
    pub evidence: Vec<String>,
    /// The clause of contract or standard that asks for the point.
    pub source_clause: String,
    /// What was found, one sentence each; for a held point what is missing and what to do.
    pub findings: Vec<String>,
    /// Set where the point was released against a requirement that was not met.
    pub variance: Option<Variance>,
}

/// One state of the plan, with who filed it and what it changed.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PlanState {
    /// The record that holds it, `name@revision`.
    pub record: String,
    /// The owner's mark, who filed it, and when.
    pub filed: String,
    /// Why it was filed.
    pub reason: String,
    /// What it changed of the state before, one sentence each; empty for the first.
    pub changes: Vec<String>,
    /// Ids of the points that stand by releases under this state.
    pub released: String,
}

/// Who released a point and when.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Release {
    /// The person's name.
    pub name: String,
    /// The role in which they released.
    pub role: String,
    /// When, with zone.
    pub time: String,
}

/// A release with a reason in place of the evidence; printed in a frame before all points.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Variance {
    /// What was required and what was found instead.
    pub departs_from: String,
    /// The reason given.
    pub reason: String,
    /// Name and role of who granted it.
    pub granted_by: String,
    /// When, with zone.
    pub time: String,
    /// The record that holds it, `name@revision`.
    pub record: String,
}
