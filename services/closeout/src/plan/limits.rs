//! `[[limit]]`: one bound of the owner with the source it comes from.

use std::fmt;

use obvert_access::{Action, Cell, role_word};
use obvert_proto::project::v1::Role;
use obvert_tables::{
    did_you_mean,
    toml_text::{Faults, Reader, listed, number_of},
};

use super::{LIMIT_KINDS, LimitKind, ROLES};

/// How a limit binds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Operator {
    /// The value may not be smaller.
    AtLeast,
    /// The value may not be larger.
    AtMost,
    /// The value is this one.
    Equal,
}

/// What a limit is set to.
#[derive(Debug, Clone, PartialEq)]
pub enum LimitValue {
    /// A number in the unit of the limit.
    Number(f64),
    /// One of the words of the limit.
    Word(String),
}

/// One limit of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What it bounds.
    pub parameter: String,
    /// How it binds.
    pub operator: Operator,
    /// What it is set to.
    pub value: LimitValue,
    /// Unit; empty for a word or a count.
    pub unit: String,
    /// What the value counts, where that could be doubted.
    pub basis: String,
    /// Where the owner has it from, in words.
    pub source: String,
    /// Roles that may vary it.
    pub who_may_vary: Vec<String>,
}

/// A limit with the place at which its value stands.
pub(super) struct Placed {
    pub(super) limit: Limit,
    place: usize,
}

impl Operator {
    /// Sign of the operator.
    pub fn sign(self) -> &'static str {
        match self {
            Self::AtLeast => ">=",
            Self::AtMost => "<=",
            Self::Equal => "==",
        }
    }
}

impl fmt::Display for LimitValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Word(word) => f.write_str(word),
        }
    }
}

/// Keeps the rounding of binary fractions from failing a value that equals its limit.
const SLACK: f64 = 1e-9;

impl Limit {
    /// Whether a value is within the limit. A value that is no number never is.
    pub fn takes(&self, value: f64) -> bool {
        let LimitValue::Number(limit) = self.value else {
            return false;
        };
        match self.operator {
            Operator::AtLeast => value >= limit - SLACK,
            Operator::AtMost => value <= limit + SLACK,
            Operator::Equal => (value - limit).abs() <= SLACK,
        }
    }

    /// Number it is set to; NaN for a word.
    pub fn number(&self) -> f64 {
        match self.value {
            LimitValue::Number(number) => number,
            LimitValue::Word(_) => f64::NAN,
        }
    }

    /// The limit in words with its source: `>= 90 percent (owner's choice)`.
    pub fn words(&self) -> String {
        let unit = if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        };
        let basis = if self.basis.is_empty() {
            String::new()
        } else {
            format!(", {}", self.basis)
        };
        format!(
            "{} {}{unit}{basis} ({})",
            self.operator.sign(),
            self.value,
            self.source
        )
    }
}

/// Limits of the text.
pub(super) fn read(tables: Vec<Reader<'_>>, faults: &mut Faults<'_>) -> Vec<Placed> {
    let mut limits: Vec<Placed> = Vec::new();
    for mut table in tables {
        let place = table.place_of("parameter");
        let value_place = table.place_of("value");
        let limit = read_one(&mut table, faults);
        let same = |other: &&Placed| {
            other.limit.parameter == limit.parameter && other.limit.operator == limit.operator
        };
        if !limit.parameter.is_empty() && limits.iter().any(|other| same(&other)) {
            let sign = limit.operator.sign();
            faults.add(
                place,
                format!("limit {} {sign} stands twice: keep one", limit.parameter),
            );
        }
        table.finish(faults);
        limits.push(Placed {
            limit,
            place: value_place,
        });
    }
    check_excluding(&limits, faults);
    limits
}

/// Refuses two limits of one parameter that no value is within.
fn check_excluding(limits: &[Placed], faults: &mut Faults<'_>) {
    let of = |operator| limits.iter().filter(move |p| p.limit.operator == operator);
    for least in of(Operator::AtLeast) {
        let same = |most: &&Placed| most.limit.parameter == least.limit.parameter;
        for most in of(Operator::AtMost).filter(same).take(1) {
            if least.limit.number() <= most.limit.number() {
                continue;
            }
            let Limit {
                parameter, unit, ..
            } = &least.limit;
            let message = format!(
                "{parameter} >= {} {unit} and <= {} {unit} exclude each other, so that no value is \
                 within both: correct one",
                least.limit.value, most.limit.value
            );
            faults.add(least.place.max(most.place), message);
        }
    }
}

fn read_one(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Limit {
    let parameter = table.text("parameter", faults);
    let kind = LimitKind::of(&parameter);
    if kind.is_none() && !parameter.is_empty() {
        let near = did_you_mean(&parameter, LIMIT_KINDS.iter().map(|kind| kind.parameter));
        faults.add(
            table.place_of("parameter"),
            format!("no limit is called \"{parameter}\"{near}"),
        );
    }
    let operator = operator(table, kind, faults);
    let unit = table.text_or("unit", "", faults);
    if let Some(kind) = kind.filter(|kind| kind.unit != unit) {
        let message = unit_fault(kind, &unit);
        faults.add(table.place_of("unit"), message);
    }
    let value = value(table, kind, &unit, faults);
    let basis = table.text_or("basis", "", faults);
    if let Some(kind) = kind.filter(|kind| !basis.is_empty() && kind.basis != basis) {
        let message = match kind.basis {
            "" => format!("{parameter} has one basis only: take it out and say it in source"),
            known => format!("basis is \"{basis}\", {parameter} counts on \"{known}\": write that"),
        };
        faults.add(table.place_of("basis"), message);
    }
    let source = table.text("source", faults);
    let who_may_vary = roles(table, "who_may_vary", faults);
    Limit {
        parameter,
        operator,
        value,
        unit,
        basis,
        source,
        who_may_vary,
    }
}

/// What is wrong with the unit of a limit, and what to write.
fn unit_fault(kind: &LimitKind, unit: &str) -> String {
    let (parameter, wanted) = (kind.parameter, kind.unit);
    match (unit, wanted) {
        (_, "") => format!("unit is \"{unit}\", {parameter} has none: take unit out"),
        ("", _) => format!("{parameter} is in {wanted}: add unit = \"{wanted}\""),
        _ if unit.eq_ignore_ascii_case(wanted) => {
            format!("unit is \"{unit}\", {parameter} is in {wanted}: write \"{wanted}\"")
        }
        _ => format!("unit is \"{unit}\", {parameter} is in {wanted}: convert the value"),
    }
}

fn operator(table: &mut Reader<'_>, kind: Option<&LimitKind>, faults: &mut Faults<'_>) -> Operator {
    let sign = table.text("operator", faults);
    let all = [Operator::AtLeast, Operator::AtMost, Operator::Equal];
    let known = all.into_iter().find(|operator| operator.sign() == sign);
    let allowed = kind.map_or(&all[..], |kind| kind.operators);
    match known {
        Some(operator) if allowed.contains(&operator) => operator,
        _ => {
            if !sign.is_empty() {
                let signs = listed(allowed.iter().map(|operator| operator.sign()));
                faults.add(
                    table.place_of("operator"),
                    format!("operator is \"{sign}\": use {signs}"),
                );
            }
            known.unwrap_or(Operator::Equal)
        }
    }
}

fn value(
    table: &mut Reader<'_>,
    kind: Option<&LimitKind>,
    unit: &str,
    faults: &mut Faults<'_>,
) -> LimitValue {
    let place = table.place_of("value");
    let Some(value) = table.value("value") else {
        faults.add(table.place, "limit has no value: add value = ...");
        return LimitValue::Number(f64::NAN);
    };
    if let Some(word) = value.get_ref().as_str() {
        let words = kind.map_or(&[][..], |kind| kind.words);
        if kind.is_some_and(|kind| kind.words.is_empty()) {
            faults.add(
                place,
                format!("value is the text \"{word}\": write a number without quotes"),
            );
        } else if kind.is_some() && !words.contains(&word) {
            let near = did_you_mean(word, words.iter().copied());
            let message = format!(
                "value is \"{word}\": one of {}{near}",
                listed(words.iter().copied())
            );
            faults.add(place, message);
        }
        return LimitValue::Word(word.to_owned());
    }
    let number = number_of(value.get_ref());
    match (number, kind) {
        (None, _) => faults.add(
            place,
            "value is neither a number nor a word: write one of them",
        ),
        (Some(_), Some(kind)) if !kind.words.is_empty() => {
            let message = format!(
                "value is a number: one of {}",
                listed(kind.words.iter().copied())
            );
            faults.add(place, message);
        }
        // A value in another unit is converted first.
        (Some(number), Some(kind))
            if kind.unit == unit && !(kind.min..=kind.max).contains(&number) =>
        {
            let (min, max) = (kind.min, kind.max);
            let message =
                format!("value is {number} {unit}, it must lie between {min} and {max}: check it");
            faults.add(place, message);
        }
        _ => {}
    }
    LimitValue::Number(number.unwrap_or(f64::NAN))
}

/// Roles of a list.
pub(super) fn roles(
    table: &mut Reader<'_>,
    key: &'static str,
    faults: &mut Faults<'_>,
) -> Vec<String> {
    let words = table.words(key, faults);
    for (word, place) in &words {
        if faults.is_full() {
            break;
        }
        if !ROLES.contains(&word.as_str()) {
            let near = did_you_mean(word, ROLES.iter().copied());
            let message = format!(
                "no role is called \"{word}\": one of {}{near}",
                listed(ROLES.iter().copied())
            );
            faults.add(*place, message);
            continue;
        }
        let (action, what) = match key {
            "released_by" => (Action::Release, "release points"),
            _ => (Action::Vary, "give variances"),
        };
        let role = Role::from_str_name(&format!("ROLE_{}", word.to_uppercase()));
        if role.is_none_or(|role| action.cell(role) == Cell::Denied) {
            let may: Vec<_> = action.roles().map(role_word).collect();
            let message = format!(
                "{key} names {word}, who may not {what} whatever the plan says: one of {}",
                listed(may.iter().map(String::as_str))
            );
            faults.add(*place, message);
        }
    }
    words.into_iter().map(|(word, _)| word).collect()
}
