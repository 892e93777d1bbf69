//! Design inputs and checks.

use serde::Serialize;

use super::{Figure, State};

/// A design revision: its inputs, where each came from, and the checks.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Design {
    /// Number by which people call it.
    pub number: String,
    /// The design record, `name@revision`.
    pub record: String,
    /// One line: condition assumed, method and edition.
    pub summary: String,
    /// The engineer who decides, with licence and date, or a sentence that none has signed.
    pub engineer: String,
    /// The inputs.
    pub inputs: Vec<DesignInput>,
    /// The checks.
    pub checks: Vec<DesignCheck>,
}

/// One input of a design.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct DesignInput {
    /// The term of the standard, such as `Groundwater above invert`.
    pub name: String,
    /// Its value.
    pub value: Figure,
    /// Where it came from: measured, stated by a test report, assumed, with record or source.
    pub provenance: String,
}

/// One check of a design.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct DesignCheck {
    /// What is checked, such as `External pressure, partially deteriorated`.
    pub name: String,
    /// What was computed.
    pub value: Figure,
    /// What it is compared with, with the sense written out, such as `at least 4.21 mm`.
    pub limit: Figure,
    /// Standard with year and equation or table.
    pub source: String,
    /// `met`, `not met`, `not applicable`, with its shape.
    pub state: State,
}
