//! Leak tests, laterals, samples and nonconformances.

use serde::Serialize;

use super::{Figure, State};

/// A leak test of the segment.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct LeakTest {
    /// Number by which people call it.
    pub number: String,
    /// The test record, `name@revision`.
    pub record: String,
    /// Method with edition, and what was shut while it ran.
    pub method: String,
    /// When and who witnessed.
    pub witnessed: String,
    /// Figures in order: name and value, such as `Start pressure`, `Pressure drop`.
    pub figures: Vec<(String, Figure)>,
    /// The verdict with the limit, such as `passed: 0.41 L/h, at most 3.58 L/h`.
    pub verdict: State,
}

/// One lateral of the register.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Lateral {
    /// The lateral's id.
    pub id: String,
    /// The parcel it serves, by the owner's number; no names of residents.
    pub parcel: String,
    /// Station with datum in the basis.
    pub station: Figure,
    /// Clock position, such as `10 h`.
    pub clock: String,
    /// The outcome: `open`, `left closed by written direction`, `abandoned by the owner`, `not
    /// found`, or `held`.
    pub outcome: State,
    /// When the lateral was shut.
    pub shut_time: String,
    /// When flow was seen again, or `not opened`.
    pub open_time: String,
    /// Opening as a share of the lateral's own section, such as `97 %`.
    pub opening_percent: String,
    /// The records of outcome and flow, `name@revision`.
    pub evidence: String,
}

/// A sample and the hands it went through.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Sample {
    /// The sample's id as it is marked on the piece.
    pub id: String,
    /// Run, place and method of cutting.
    pub taken: String,
    /// What it is for: tested, retained for the owner, retest.
    pub purpose: String,
    /// The hand-overs in order: from, to, time.
    pub custody: Vec<String>,
    /// `custody unbroken`, `gap in custody`, with its shape.
    pub state: State,
}

/// A nonconformance and what was decided.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Nonconformance {
    /// The record, `name@revision`.
    pub record: String,
    /// What was found, where and when.
    pub found: String,
    /// The step that it holds.
    pub holds_from_step: String,
    /// The disposition with the person who decided, or `none yet`.
    pub disposition: String,
    /// Proof that the disposition was carried out, or `none yet`.
    pub proof: String,
    /// `closed` or `open`, with its shape.
    pub state: State,
}
