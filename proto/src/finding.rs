//! Findings, made in one breath.

use crate::common::v1::Finding;

impl Finding {
    /// A finding that is shown and holds nothing, with its numbers.
    pub fn note(code: &str, message: String, facts: &[(&str, f64)]) -> Self {
        let fact = |(name, value): &(&str, f64)| ((*name).to_owned(), value.to_string());
        Self {
            code: code.to_owned(),
            message,
            facts: facts.iter().map(fact).collect(),
            ..Self::default()
        }
    }

    /// A finding that keeps a point held, with its numbers.
    pub fn holding(code: &str, message: String, facts: &[(&str, f64)]) -> Self {
        Self {
            holds: true,
            ..Self::note(code, message, facts)
        }
    }
}
