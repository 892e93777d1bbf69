//! Findings on a leak test.

use std::collections::BTreeMap;

use obvert_proto::common::v1::Finding;

/// A finding that keeps a point held.
pub(super) fn holding(code: &str, message: String, facts: &[(&str, f64)]) -> Finding {
    Finding {
        holds: true,
        ..note(code, message, facts)
    }
}

/// A note.
pub(super) fn note(code: &str, message: String, facts: &[(&str, f64)]) -> Finding {
    let facts: BTreeMap<_, _> = facts
        .iter()
        .map(|(name, value)| ((*name).to_owned(), value.to_string()))
        .collect();
    Finding {
        code: code.to_owned(),
        message,
        facts,
        ..Finding::default()
    }
}
