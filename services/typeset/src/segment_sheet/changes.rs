//! What differs from the package that was issued before.

use serde::Serialize;

/// The differences, and a sentence that counts them.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Changes {
    /// Which package is replaced, and how much differs; or that this one is the first.
    pub words: String,
    /// Records that are not on file in the same state.
    pub records: Vec<ChangedRecord>,
    /// Points that stand otherwise.
    pub points: Vec<ChangedPoint>,
}

/// A record that was added, changed, or is gone.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ChangedRecord {
    /// The record, `name@revision`.
    pub record: String,
    /// `added`, `changed from @41`, `gone`.
    pub standing: String,
    /// Each changed field with both values, in words.
    pub fields: Vec<String>,
    /// The reason given.
    pub reason: String,
    /// Who wrote the new state.
    pub by: String,
}

/// A point that stands otherwise.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ChangedPoint {
    /// The point's id in the plan.
    pub point: String,
    /// Its title.
    pub title: String,
    /// Where it stood.
    pub was: String,
    /// Where it stands.
    pub is: String,
}
