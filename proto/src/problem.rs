//! The one error that leaves a service, and how it travels as a gRPC status.

use std::{collections::BTreeMap, collections::HashMap, fmt, time::Duration};

use tonic::Status;
use tonic_types::{ErrorDetails, FieldViolation, PreconditionViolation, StatusExt};

use crate::common::v1::Reason;
use crate::reason::{code, reason_word};

/// Domain of every `ErrorInfo` that Obvert sends.
const DOMAIN: &str = "obvert";
/// Bytes of violations that fit a status, since header lists are limited to 8 KiB after base64.
const DETAIL_BYTES: usize = 4_500;
/// Longest message; it travels twice, once with three bytes for each that is not ASCII.
const MESSAGE_BYTES: usize = 1_000;
/// Longest value of a fact.
const FACT_BYTES: usize = 300;

/// One field, row or point that stands in the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// Path of the field, such as `segment.length_wall_to_wall_m`, or row and column of a table.
    pub field: String,
    /// What, the value with its unit, the limit, what to do.
    pub message: String,
}

impl Violation {
    /// A violation of `field`.
    pub fn new(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            field: field.into(),
            message: message.into(),
        }
    }
}

/// Why a call could not be answered.
///
/// A check that fails is an answer and never becomes a `Problem`.
#[derive(Debug, Clone)]
pub struct Problem {
    /// Reason that clients match on.
    pub reason: Reason,
    /// What, the value with its unit, the limit, what to do.
    pub message: String,
    /// Every variable part of the message, by name with unit.
    pub facts: BTreeMap<String, String>,
    /// All violations found, not only the first.
    pub violations: Vec<Violation>,
}

impl Problem {
    /// A problem with a reason and a sentence.
    pub fn new(reason: Reason, message: impl Into<String>) -> Self {
        Self {
            reason,
            message: message.into(),
            facts: BTreeMap::new(),
            violations: Vec::new(),
        }
    }

    /// Fields that are missing, out of range or of the wrong form.
    pub fn fields(violations: Vec<Violation>) -> Self {
        let first = violations
            .first()
            .map_or(String::new(), |v| format!("{}: {}", v.field, v.message));
        let message = match violations.len() {
            0 | 1 => first,
            n => format!("{n} fields are wrong; the first is {first}"),
        };
        Self {
            violations,
            ..Self::new(Reason::FieldsInvalid, message)
        }
    }

    /// What a caller is told: of a fault of the server only that it is one, since what the libraries
    /// below say names files and types. The log has the whole.
    #[must_use]
    pub fn told(self) -> Self {
        if self.reason != Reason::Internal {
            return self;
        }
        tracing::error!(message = self.message, facts = ?self.facts, "a fault of the server");
        let message = "the server could not do this, through a fault of its own: its log says why; \
                       tell its operator when you asked";
        Self::new(Reason::Internal, message)
    }

    /// Adds one variable part of the message.
    #[must_use]
    pub fn fact(mut self, name: &str, value: impl fmt::Display) -> Self {
        self.facts.insert(name.to_owned(), value.to_string());
        self
    }

    /// Adds all violations behind the message.
    #[must_use]
    pub fn with_violations(mut self, violations: Vec<Violation>) -> Self {
        self.violations = violations;
        self
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Problem {}

impl From<Problem> for Status {
    fn from(problem: Problem) -> Self {
        let problem = problem.told();
        let Problem {
            reason,
            message,
            mut facts,
            violations,
        } = problem;
        let message = short(message, MESSAGE_BYTES);
        let (kept, left_out) = fitting(violations);
        facts
            .values_mut()
            .for_each(|value| *value = short(std::mem::take(value), FACT_BYTES));
        if left_out > 0 {
            facts.insert("violations_left_out_count".to_owned(), left_out.to_string());
        }
        let mut details = ErrorDetails::new();
        details.set_error_info(
            reason_word(reason),
            DOMAIN,
            facts.into_iter().collect::<HashMap<_, _>>(),
        );
        if reason == Reason::PointsHeld {
            let held = kept
                .into_iter()
                .map(|v| PreconditionViolation::new("POINT_HELD", v.field, v.message));
            details.set_precondition_failure(held.collect::<Vec<_>>());
        } else if !kept.is_empty() {
            let fields = kept
                .into_iter()
                .map(|v| FieldViolation::new(v.field, v.message));
            details.set_bad_request(fields.collect::<Vec<_>>());
        }
        if matches!(reason, Reason::Overloaded | Reason::ShuttingDown) {
            details.set_retry_info(Some(Duration::from_secs(1)));
        }
        Status::with_error_details(code(reason), message, details)
    }
}

/// A text cut where a character ends, so that what a caller sent does not come back whole.
fn short(mut text: String, most: usize) -> String {
    if text.len() > most {
        text.truncate(text.floor_char_boundary(most));
        text.push_str("...");
    }
    text
}

/// As many violations as a status can carry, and how many more there are.
fn fitting(violations: Vec<Violation>) -> (Vec<Violation>, usize) {
    let mut bytes = 0;
    let total = violations.len();
    let kept: Vec<_> = violations
        .into_iter()
        .take_while(|v| {
            bytes += v.field.len() + v.message.len() + 16;
            bytes <= DETAIL_BYTES
        })
        .collect();
    let left_out = total - kept.len();
    (kept, left_out)
}
