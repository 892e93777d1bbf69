//! A plan in words, for the people who work by it.

use obvert_proto::{
    closeout::v1::{PlanLimit, PlanPoint, plan_limit::Value},
    common::v1::PaperGrade,
};

use super::{Limit, LimitValue, Operator, ParameterValue, PlanText, Point};
use crate::{evidence_list, hold_points::Evaluator};

impl ParameterValue {
    /// For people: `a, b`, `yes`, `no`.
    pub fn words(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Words(words) => words.join(", "),
            Self::Flag(true) => "yes".to_owned(),
            Self::Flag(false) => "no".to_owned(),
        }
    }
}

/// Every point in words, those that wait after those they wait for.
pub fn explain(plan: &PlanText) -> Vec<PlanPoint> {
    plan.in_order()
        .into_iter()
        .map(|point| explained(plan, point))
        .collect()
}

fn explained(plan: &PlanText, point: &Point) -> PlanPoint {
    let evaluator = Evaluator::of(&point.evaluator);
    let kinds = evaluator.map_or(&[][..], |evaluator| evaluator.evidence);
    let mut needs: Vec<String> = kinds.iter().map(|kind| kind.replace('-', " ")).collect();
    let set = point.parameters.iter();
    needs.extend(set.map(|p| format!("{}: {}", p.name.replace('_', " "), p.value.words())));
    let row = |row: &str| {
        let title = evidence_list::title(row).unwrap_or_default();
        format!("{row} {title}")
    };
    PlanPoint {
        point: point.id.clone(),
        title: point.title.clone(),
        stage: point.stage.clone(),
        point_class: point.class.into(),
        proves: evaluator.map_or(String::new(), |evaluator| evaluator.proves.to_owned()),
        needs,
        evidence_rows: evidence_list::rows_of(point).into_iter().map(row).collect(),
        limits: limits(plan, point),
        released_by: point.released_by.clone(),
        varied_by: point.varied_by.clone(),
        least_grade: grade(point.least_grade).to_owned(),
        after: point.after.clone(),
        sampling: point.sampling.words().to_owned(),
        due: due(plan, point),
        source_clause: point.source_clause.clone(),
        self_release: point.self_release,
    }
}

/// Every limit with its basis, its source and who may vary it.
pub fn explain_limits(plan: &PlanText) -> Vec<PlanLimit> {
    let limit = |limit: &Limit| PlanLimit {
        parameter: limit.parameter.clone(),
        operator: limit.operator.sign().to_owned(),
        value: Some(match &limit.value {
            LimitValue::Number(number) => Value::Number(*number),
            LimitValue::Word(word) => Value::Word(word.clone()),
        }),
        unit: limit.unit.clone(),
        basis: limit.basis.clone(),
        source: limit.source.clone(),
        who_may_vary: limit.who_may_vary.clone(),
    };
    plan.limits.iter().map(limit).collect()
}

/// Limits that a point is judged by and who may vary each, in words.
fn limits(plan: &PlanText, point: &Point) -> Vec<String> {
    let needed = Evaluator::of(&point.evaluator).map_or(&[][..], |evaluator| evaluator.limits);
    let words = |(parameter, operator): &(&str, Operator)| {
        let limit = plan.limit(parameter, *operator)?;
        let mut words = format!("{} {}", limit.parameter, limit.words());
        if !limit.who_may_vary.is_empty() {
            let who = limit.who_may_vary.join(", ");
            words.push_str(&format!("; may be varied by {who}"));
        }
        Some(words)
    };
    needed.iter().filter_map(words).collect()
}

/// When a point is due, in words.
pub(crate) fn due(plan: &PlanText, point: &Point) -> String {
    let Some(due) = &point.due else {
        return String::new();
    };
    let limit = plan.limit(&due.limit, Operator::AtMost);
    let limit = limit.map_or(String::new(), |limit| limit.words());
    format!("{limit} after {}", due.after.word())
}

/// Grade of paper in a plan's words.
pub(super) fn grade(grade: PaperGrade) -> &'static str {
    super::points::GRADES
        .iter()
        .find(|(_, known)| *known == grade)
        .map_or("", |(word, _)| word)
}
