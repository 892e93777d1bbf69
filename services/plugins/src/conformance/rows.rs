//! Rows of the check, and the questions that it puts.

use std::collections::BTreeMap;

use obvert_proto::{
    common::v1::RecordRef,
    plugin::v1::{DescribeResponse, Evidence},
};
use prost_types::Any;

use crate::{Fault, Question};

/// One requirement and what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Kind of plug-in, such as `evaluator`.
    pub kind: &'static str,
    /// What is required.
    pub requirement: &'static str,
    /// What it did instead and what to do; nothing when it passed.
    pub failure: Option<String>,
    word: &'static str,
}

impl Row {
    pub(super) fn passed(kind: &'static str, requirement: &'static str) -> Self {
        Self {
            kind,
            requirement,
            failure: None,
            word: "",
        }
    }

    pub(super) fn failed(kind: &'static str, requirement: &'static str, fault: Fault) -> Self {
        Self {
            kind,
            requirement,
            failure: Some(fault.for_author),
            word: fault.word,
        }
    }

    /// Passed, or failed with what to do.
    pub(super) fn of(
        kind: &'static str,
        requirement: &'static str,
        outcome: Result<(), Fault>,
    ) -> Self {
        match outcome {
            Ok(()) => Self::passed(kind, requirement),
            Err(fault) => Self::failed(kind, requirement, fault),
        }
    }

    /// Whether nobody answers at all, so that more questions are of no use.
    pub(super) fn is_out_of_reach(&self) -> bool {
        ["unreachable", "late", "certificate", "tls"].contains(&self.word)
    }
}

/// A fault of an author's plug-in, told as what to do.
pub(super) fn mend(what: impl Into<String>) -> Fault {
    Fault::new("requirement", what)
}

/// A question about an invented segment, with the parameters that the plug-in needs.
pub(super) fn question(number: u8, description: &DescribeResponse) -> Question {
    let required = description.parameters.iter().filter(|p| p.required);
    let parameters: BTreeMap<_, _> = required
        .map(|parameter| (parameter.name.clone(), "0".to_owned()))
        .collect();
    Question {
        segment: format!("projects/conformance/segments/s-{number}"),
        point: format!("point-{number}"),
        parameters,
        evidence: Vec::new(),
        evidence_digest: [number; 32],
    }
}

/// A record of a type, with a body of the given bytes.
pub(super) fn evidence(type_name: &str, body: &[u8]) -> Evidence {
    Evidence {
        record: Some(RecordRef {
            name: "projects/conformance/documents/d-1".to_owned(),
            revision: 1,
        }),
        body: Some(Any {
            type_url: format!("type.googleapis.com/{type_name}"),
            value: body.to_vec(),
        }),
    }
}
