//! The owner's inspection and test plan: limits with their sources, and the points that use them.
//!
//! A plan is one TOML text. [`parse`] takes it whole or refuses it with every fault at once, each
//! with row, column and, where a known word lies near, a suggestion. After that a plan cannot ask
//! for an evaluator, a parameter, a limit or a role that does not exist, and no two points wait for
//! each other. The module is pure: text in, plan or faults out.

mod asked;
mod bounds;
mod compare;
mod cover;
mod cover_facts;
mod explain;
mod limit_kinds;
mod limits;
mod order;
mod package;
mod points;
mod sections;

use std::collections::BTreeSet;

use obvert_proto::{
    closeout::v1::{PlanFault, PointClass},
    common::v1::PaperGrade,
};
use obvert_tables::toml_text::{self, Faults, Reader};

pub use bounds::MOST_POINTS;
pub use compare::changes;
pub use cover::{CoverText, FACTS, LINES, SIGNERS, TITLE_CHARS};
pub use cover_facts::{COVER_FACTS, CoverFact};
pub(crate) use explain::due as due_words;
pub use explain::{explain, explain_limits};
pub use limit_kinds::{LIMIT_KINDS, LimitKind};
pub use limits::{Limit, LimitValue, Operator};
pub use package::PackageText;
pub use points::{Parameter, ParameterValue};
pub use sections::SECTIONS;
pub(crate) use sections::titles as section_titles;

/// Roles that a plan may name, as the words of commits and messages.
pub const ROLES: &[&str] = &[
    "office",
    "crew",
    "subcontractor",
    "laboratory",
    "inspector",
    "engineer",
    "owner",
];

/// A plan that can be used.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanText {
    /// Title.
    pub title: String,
    /// Owner whose plan it is.
    pub owner: String,
    /// Owner's own revision mark.
    pub revision: String,
    /// Limits in the order of the text.
    pub limits: Vec<Limit>,
    /// Points in the order of the text.
    pub points: Vec<Point>,
    /// What it says about packages.
    pub package: PackageText,
}

/// One point of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Id, unique in the plan.
    pub id: String,
    /// Title in words.
    pub title: String,
    /// Stage, such as "before pull-in".
    pub stage: String,
    /// Whether evidence alone releases it.
    pub class: PointClass,
    /// Name of the evaluator that judges its evidence.
    pub evaluator: String,
    /// Parameters for the evaluator.
    pub parameters: Vec<Parameter>,
    /// Roles that may release it.
    pub released_by: Vec<String>,
    /// Roles that may give a variance.
    pub varied_by: Vec<String>,
    /// Least grade of paper it takes.
    pub least_grade: PaperGrade,
    /// Clause of the owner's document.
    pub source_clause: String,
    /// Points that must be past first.
    pub after: Vec<String>,
    /// Whether the one who recorded the result may release it too.
    pub self_release: bool,
    /// Segments it is asked of.
    pub sampling: Sampling,
    /// By when it is due, where the plan says so.
    pub due: Option<Due>,
    /// Rows of the list of evidence it stands for; empty for those of its evaluator.
    pub evidence: Vec<String>,
}

/// Of which segments a point is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sampling {
    /// Of every segment.
    EverySegment,
    /// Of the first three segments lined, then of one in five.
    FirstThreeThenOneInFive,
    /// Of the first segment lined from each batch.
    OnePerBatch,
}

/// What days count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DueEvent {
    /// Date of the order.
    Order,
    /// Arrival of the liner.
    Receipt,
    /// Last pull-in.
    PullIn,
    /// Last survey after lining.
    PostLiningCctv,
}

/// When a point is due: a limit of the plan in days, and what they count from.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// Limit that sets the days.
    pub limit: String,
    /// What they count from.
    pub after: DueEvent,
}

impl PlanText {
    /// Point of an id.
    pub fn point(&self, id: &str) -> Option<&Point> {
        self.points.iter().find(|point| point.id == id)
    }

    /// Limit of a parameter with an operator.
    pub fn limit(&self, parameter: &str, operator: Operator) -> Option<&Limit> {
        self.limits
            .iter()
            .find(|limit| limit.parameter == parameter && limit.operator == operator)
    }

    /// Ids of the points that wait for the final acceptance, themselves or through others.
    pub fn after_acceptance(&self) -> BTreeSet<&str> {
        let accepts = |point: &&Point| point.evaluator == "final-acceptance";
        let accepts: BTreeSet<_> = self.points.iter().filter(accepts).map(|p| &p.id).collect();
        let mut following = BTreeSet::new();
        for point in self.in_order() {
            let follows = |id: &String| accepts.contains(id) || following.contains(id.as_str());
            if point.after.iter().any(follows) {
                following.insert(point.id.as_str());
            }
        }
        following
    }

    /// Whether a point is asked of some segments only, by their turn in the order of lining.
    pub fn samples_by_turn(&self) -> bool {
        let by_turn = |point: &Point| point.sampling == Sampling::FirstThreeThenOneInFive;
        self.points.iter().any(by_turn)
    }

    /// Points so ordered that each comes after those it waits for.
    pub fn in_order(&self) -> Vec<&Point> {
        order::in_order(self.points.iter())
    }
}

impl Point {
    /// Value of a parameter, where the plan sets it.
    pub fn parameter(&self, name: &str) -> Option<&ParameterValue> {
        self.parameters
            .iter()
            .find(|parameter| parameter.name == name)
            .map(|p| &p.value)
    }
}

/// Reads a plan.
///
/// # Errors
///
/// Every fault of the text, in the order of rows.
pub fn parse(source: &str) -> Result<PlanText, Vec<PlanFault>> {
    let mut faults = Faults::new(source);
    bounds::fits("source", ("the plan", 0), source, &mut faults);
    if faults.count() > 0 {
        return Err(told(faults));
    }
    let table = toml_text::read(source, &mut faults);
    let Some(table) = table else {
        return Err(told(faults));
    };
    let mut root = Reader::new(table.get_ref(), table.span().start, "the plan");
    let mut head = root.table("plan", &mut faults);
    let mut text = |key: &'static str, faults: &mut Faults<'_>| {
        head.as_mut()
            .map_or(String::new(), |head| head.text(key, faults))
    };
    let title = text("title", &mut faults);
    let owner = text("owner", &mut faults);
    let revision = text("revision", &mut faults);
    if let Some(head) = head {
        for (field, key, text) in [
            ("title", "title", &title),
            ("owner", "owner", &owner),
            ("plan_revision", "revision", &revision),
        ] {
            bounds::fits(field, (key, head.place_of(key)), text, &mut faults);
        }
        head.finish(&mut faults);
    }
    let limits = limits::read(root.tables("limit", &mut faults), &mut faults);
    let points = points::read(root.tables("point", &mut faults), &limits, &mut faults);
    let package = package::read(root.table_if_any("package", &mut faults), &mut faults);
    root.finish(&mut faults);
    order::check(&points, &mut faults);
    let points = points.into_iter().map(|placed| placed.point).collect();
    let limits = limits.into_iter().map(|placed| placed.limit).collect();
    let faults = told(faults);
    if faults.is_empty() {
        Ok(PlanText {
            title,
            owner,
            revision,
            limits,
            points,
            package,
        })
    } else {
        Err(faults)
    }
}

/// Faults as the service answers them.
fn told(faults: Faults<'_>) -> Vec<PlanFault> {
    let mut all = faults.sorted();
    if all.len() >= Faults::FULL {
        all.truncate(Faults::FULL);
        if let Some(last) = all.last_mut() {
            last.message.push_str("; more may follow, mend these first");
        }
    }
    let told = all.into_iter().map(|fault| PlanFault {
        row: fault.row,
        column: fault.column,
        message: fault.message,
    });
    told.collect()
}
