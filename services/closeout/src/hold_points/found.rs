//! Findings: what, the value with its unit, the limit with its source, what to do.

use std::fmt::Display;

use obvert_proto::common::v1::{Finding, RecordRef};

/// A finding that is being written.
#[derive(Debug, Clone)]
pub struct Found(Finding);

/// Begins a finding with its kebab-case word and its sentence.
pub fn found(code: impl Into<String>, message: impl Into<String>) -> Found {
    Found(Finding {
        code: code.into(),
        message: message.into(),
        ..Finding::default()
    })
}

/// A figure for people: at most three digits after the point.
pub fn figure(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

impl Found {
    /// Adds a record that it rests on.
    #[must_use]
    pub fn of(mut self, record: RecordRef) -> Self {
        if !self.0.records.contains(&record) {
            self.0.records.push(record);
        }
        self
    }

    /// Adds several records.
    #[must_use]
    pub fn of_all(self, records: impl IntoIterator<Item = RecordRef>) -> Self {
        records.into_iter().fold(self, Self::of)
    }

    /// Adds a value behind the sentence.
    #[must_use]
    pub fn fact(mut self, name: impl Into<String>, value: impl Display) -> Self {
        self.0.facts.insert(name.into(), value.to_string());
        self
    }

    /// The finding, holding or not.
    pub fn holding(self, holds: bool) -> Finding {
        Finding { holds, ..self.0 }
    }
}
