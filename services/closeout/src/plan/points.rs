//! `[[point]]`: what is looked at, by which evaluator, and who may release it.

use obvert_proto::{closeout::v1::PointClass, common::v1::PaperGrade};
use obvert_records::names;
use obvert_tables::{
    did_you_mean,
    toml_text::{Faults, Reader, check_controls, listed, words_of},
};
use toml::{Spanned, de::DeValue};

use super::{
    LimitKind, MOST_POINTS, Operator, Point, asked,
    limits::{self, roles},
};
use crate::hold_points::{EVALUATORS, Evaluator, ParameterForm, ParameterKind};

/// A parameter as a plan sets it.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Name.
    pub name: String,
    /// Value.
    pub value: ParameterValue,
}

/// Value of a parameter.
#[derive(Debug, Clone, PartialEq)]
pub enum ParameterValue {
    /// One word or text.
    Text(String),
    /// Several words.
    Words(Vec<String>),
    /// Yes or no.
    Flag(bool),
}

/// A point with the places of its `after` list.
pub(super) struct Placed {
    pub(super) point: Point,
    pub(super) after_places: Vec<(String, usize)>,
    pub(super) after_place: usize,
}

/// Words of the classes.
const CLASSES: &[(&str, PointClass)] = &[
    ("hold", PointClass::Hold),
    ("witness", PointClass::Witness),
    ("review", PointClass::Review),
];

/// Words of the grades of paper, weakest first.
pub(super) const GRADES: &[(&str, PaperGrade)] = &[
    ("transcribed", PaperGrade::Transcribed),
    ("checked-by-second-role", PaperGrade::CheckedBySecondRole),
    ("confirmed-by-issuer", PaperGrade::ConfirmedByIssuer),
    ("direct", PaperGrade::Direct),
];

/// Word of a class.
pub(super) fn class_word(class: PointClass) -> &'static str {
    CLASSES
        .iter()
        .find(|(_, known)| *known == class)
        .map_or("", |(word, _)| word)
}

/// Points of the text.
pub(super) fn read(
    tables: Vec<Reader<'_>>,
    limits: &[limits::Placed],
    faults: &mut Faults<'_>,
) -> Vec<Placed> {
    let mut points: Vec<Placed> = Vec::new();
    if let Some(beyond) = tables.get(MOST_POINTS) {
        let count = tables.len();
        let message =
            format!("the plan has {count} points, at most {MOST_POINTS} fit: take some out");
        faults.add(beyond.place, message);
        return points;
    }
    for mut table in tables {
        let placed = read_one(&mut table, limits, faults);
        let id = &placed.point.id;
        if !id.is_empty() && points.iter().any(|other| other.point.id == *id) {
            faults.add(
                table.place_of("id"),
                format!("point {id} stands twice: give one another id"),
            );
        }
        table.finish(faults);
        points.push(placed);
    }
    points
}

fn read_one(table: &mut Reader<'_>, limits: &[limits::Placed], faults: &mut Faults<'_>) -> Placed {
    let id = table.text("id", faults);
    if let Some(wrong) = names::check_id("id", &id).filter(|_| !id.is_empty()) {
        faults.add(table.place_of("id"), format!("id {}", wrong.message));
    }
    let title = table.text("title", faults);
    let stage = table.text("stage", faults);
    let class = class(table, faults);
    let name = table.text("evaluator", faults);
    let evaluator = Evaluator::of(&name);
    if evaluator.is_none() && !name.is_empty() {
        let near = did_you_mean(&name, EVALUATORS.iter().map(|evaluator| evaluator.name));
        faults.add(
            table.place_of("evaluator"),
            format!("no evaluator is called \"{name}\"{near}"),
        );
    }
    let parameters = parameters(table, evaluator, faults);
    let released_by = released_by(table, &id, class, faults);
    let varied_by = roles(table, "varied_by", faults);
    let least_grade = least_grade(table, faults);
    let source_clause = table.text_or("source_clause", "", faults);
    let after_places = table.words("after", faults);
    let after_place = table.place_of("after");
    let self_release = table.flag("self_release", faults);
    let sampling = asked::sampling(table, faults);
    let due = asked::due(table, faults);
    let evidence = asked::evidence(table, faults);
    let needed = evaluator.map_or(&[][..], |evaluator| evaluator.limits);
    let lapse: &[(&str, Operator)] = match class {
        PointClass::Witness => &[("witness_notice_h", Operator::AtLeast)],
        _ => &[],
    };
    let days = due.iter().map(|due| (due.limit.as_str(), Operator::AtMost));
    let needed = needed.iter().chain(lapse).copied();
    for (parameter, operator) in needed.chain(days) {
        check_limit(
            &id,
            parameter,
            operator,
            limits,
            table.place_of("evaluator"),
            faults,
        );
    }
    let after = after_places.iter().map(|(word, _)| word.clone()).collect();
    let point = Point {
        id,
        title,
        stage,
        class,
        evaluator: name,
        parameters,
        released_by,
        varied_by,
        least_grade,
        source_clause,
        after,
        self_release,
        sampling,
        due,
        evidence,
    };
    Placed {
        point,
        after_places,
        after_place,
    }
}

/// Roles that release a point: some for every class but review, and none for that.
fn released_by(
    table: &mut Reader<'_>,
    id: &str,
    class: PointClass,
    faults: &mut Faults<'_>,
) -> Vec<String> {
    let released_by = roles(table, "released_by", faults);
    if class != PointClass::Review && released_by.is_empty() {
        let message = format!("point {id} is released by nobody: add released_by = [\"...\"]");
        faults.add(table.place_of("class"), message);
    }
    if class == PointClass::Review && !released_by.is_empty() {
        let message = format!(
            "point {id} is of class review, which its evidence releases without anybody: write class \
             = \"hold\", or take released_by out"
        );
        faults.add(table.place_of("released_by"), message);
    }
    released_by
}

fn check_limit(
    id: &str,
    parameter: &str,
    operator: Operator,
    limits: &[limits::Placed],
    place: usize,
    faults: &mut Faults<'_>,
) {
    let there = |placed: &limits::Placed| {
        placed.limit.parameter == parameter && placed.limit.operator == operator
    };
    if !limits.iter().any(there) {
        let unit = LimitKind::of(parameter).map_or("", |kind| kind.unit);
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!(" in {unit}")
        };
        let sign = operator.sign();
        let message = format!(
            "point {id} needs the limit {parameter} {sign}{unit}: add a [[limit]] with its source"
        );
        faults.add(place, message);
    }
}

fn class(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> PointClass {
    let word = table.text("class", faults);
    let known = CLASSES.iter().find(|(known, _)| *known == word);
    if known.is_none() && !word.is_empty() {
        let near = did_you_mean(&word, CLASSES.iter().map(|(known, _)| *known));
        let message = format!(
            "class is \"{word}\": one of {}{near}",
            listed(CLASSES.iter().map(|c| c.0))
        );
        faults.add(table.place_of("class"), message);
    }
    known.map_or(PointClass::Hold, |(_, class)| *class)
}

/// Least grade of paper; a check by a second role when left out.
fn least_grade(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> PaperGrade {
    let word = table.text_or("least_grade", "checked-by-second-role", faults);
    let known = GRADES.iter().find(|(known, _)| *known == word);
    if known.is_none() && !word.is_empty() {
        let near = did_you_mean(&word, GRADES.iter().map(|(known, _)| *known));
        let message = format!(
            "least_grade is \"{word}\": one of {}{near}",
            listed(GRADES.iter().map(|grade| grade.0))
        );
        faults.add(table.place_of("least_grade"), message);
    }
    known.map_or(PaperGrade::CheckedBySecondRole, |(_, grade)| *grade)
}

fn parameters(
    table: &mut Reader<'_>,
    evaluator: Option<&Evaluator>,
    faults: &mut Faults<'_>,
) -> Vec<Parameter> {
    let place = table.place_of("evaluator");
    let value = table.value("parameters");
    let set = value.and_then(|value| value.get_ref().as_table());
    if let (Some(value), None) = (value, set) {
        faults.add(
            value.span().start,
            "parameters is no table: write parameters = { name = value }",
        );
    }
    let Some(evaluator) = evaluator else {
        return Vec::new();
    };
    let mut read = Vec::new();
    for (key, value) in set.into_iter().flatten() {
        let name = key.get_ref().as_ref();
        let Some(kind) = evaluator.parameters.iter().find(|kind| kind.name == name) else {
            let near = did_you_mean(name, evaluator.parameters.iter().map(|kind| kind.name));
            let message = format!(
                "evaluator {} has no parameter \"{name}\"{near}",
                evaluator.name
            );
            faults.add(key.span().start, message);
            continue;
        };
        let value = parameter(kind, value, faults);
        read.extend(value.map(|value| Parameter {
            name: name.to_owned(),
            value,
        }));
    }
    let missing = |kind: &&ParameterKind| {
        kind.required && !set.is_some_and(|set| set.contains_key(kind.name))
    };
    for kind in evaluator.parameters.iter().filter(missing) {
        let message = format!(
            "evaluator {} needs the parameter {} ({}): add it to parameters",
            evaluator.name, kind.name, kind.meaning
        );
        faults.add(place, message);
    }
    read
}

/// Words of the form `name=value`.
fn settings(
    name: &'static str,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults<'_>,
) -> ParameterValue {
    let words = words_of(name, value, faults);
    for (word, place) in &words {
        let parts = word.split_once('=');
        if !parts.is_some_and(|(key, value)| !key.trim().is_empty() && !value.trim().is_empty()) {
            faults.add(
                *place,
                format!("{name} holds \"{word}\": write \"name=value\""),
            );
        }
    }
    ParameterValue::Words(words.into_iter().map(|(word, _)| word).collect())
}

fn parameter(
    kind: &ParameterKind,
    value: &Spanned<DeValue<'_>>,
    faults: &mut Faults<'_>,
) -> Option<ParameterValue> {
    let place = value.span().start;
    let known = |word: &str, place: usize, faults: &mut Faults<'_>| {
        if !kind.choices.is_empty() && !kind.choices.contains(&word) {
            let near = did_you_mean(word, kind.choices.iter().copied());
            let choices = listed(kind.choices.iter().copied());
            faults.add(
                place,
                format!("{} is \"{word}\": one of {choices}{near}", kind.name),
            );
        }
    };
    let read = match kind.form {
        ParameterForm::Text => value.get_ref().as_str().map(|word| {
            check_controls(kind.name, (word, place), faults);
            known(word, place, faults);
            ParameterValue::Text(word.to_owned())
        }),
        ParameterForm::Words => value.get_ref().as_array().map(|_| {
            let words = words_of(kind.name, value, faults);
            for (word, place) in &words {
                known(word, *place, faults);
            }
            ParameterValue::Words(words.into_iter().map(|(word, _)| word).collect())
        }),
        ParameterForm::Flag => value.get_ref().as_bool().map(ParameterValue::Flag),
        ParameterForm::Settings => value
            .get_ref()
            .as_array()
            .map(|_| settings(kind.name, value, faults)),
    };
    if read.is_none() {
        let found = value.get_ref().type_str();
        faults.add(
            place,
            format!("{} is a {found}: write {}", kind.name, kind.form.words()),
        );
    }
    read
}
