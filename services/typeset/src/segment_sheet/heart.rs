//! The table that follows one liner from design to pipe.

use serde::Serialize;

use super::{Figure, Mark};

/// The chain of records side by side: identity, thickness, length, diameter and dates as each
/// record states them.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Heart {
    /// The rows, usually identity, thickness, length, diameter, dates.
    pub rows: Vec<HeartRow>,
    /// Agreements and disagreements in words, disagreements first.
    pub statements: Vec<Statement>,
}

/// One fact along the chain. A column without a record is `None` and printed as "no record".
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct HeartRow {
    /// The fact, such as `Thickness`.
    pub title: String,
    /// The basis on which the row compares, such as `composite wall without films`, or the two
    /// named ends of a length.
    pub basis: Option<String>,
    /// What the design requires.
    pub design: Option<HeartCell>,
    /// What was ordered.
    pub ordered: Option<HeartCell>,
    /// What the maker certified.
    pub certified: Option<HeartCell>,
    /// What was found on receipt.
    pub received: Option<HeartCell>,
    /// What was installed.
    pub installed: Option<HeartCell>,
    /// What the cure log says.
    pub cure_log: Option<HeartCell>,
    /// What was measured on the lined pipe or its samples.
    pub measured: Option<HeartCell>,
}

/// One cell: the fact, the record that says so, and how good the paper is.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct HeartCell {
    /// The fact. Its basis is printed only where it differs from the row's.
    pub figure: Figure,
    /// The record and revision it was read from, such as `orders/o-114@41`.
    pub record: String,
    /// Grade of the paper: `direct`, `confirmed by issuer`, `checked by second role`,
    /// `transcribed`.
    pub grade: String,
    /// True where this cell disagrees with another one: it is drawn with a heavy frame and a
    /// statement must say why.
    pub disagrees: bool,
}

/// One comparison in words.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Statement {
    /// Agreement, disagreement or not comparable.
    pub mark: Mark,
    /// The whole sentence with both values, their units and records.
    pub text: String,
}
