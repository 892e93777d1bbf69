//! The data of a calculation sheet: what the caller fills, field by field. A table without rows has
//! no heading on the sheet.
//!
//! As in [`crate::segment_sheet`], every value is text that is printed as it stands, rounded and
//! with its unit. An equation is named by a key of the template's static list; the caller gives it
//! the numbers by symbol, and the same line as plain text for a reader who hears the page.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

use crate::{
    TypesetError,
    segment_sheet::{Figure, Mark, State},
};

/// Everything the sheet prints, in the order in which it prints it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CalculationSheet {
    /// What is calculated, for whom, from which record.
    pub head: Head,
    /// What came out.
    pub answer: Answer,
    /// Who seals it, and the space to do so.
    pub seal: Seal,
    /// Every input with where it comes from.
    pub inputs: Vec<Input>,
    /// Loads at every section.
    pub sections: Vec<Section>,
    /// Equations with their numbers, group by group.
    pub groups: Vec<StepGroup>,
    /// Heads of the four columns of the checks.
    pub checks_head: Vec<String>,
    /// Every check at every section.
    pub checks: Vec<CheckRow>,
    /// What the design hangs on most, in a sentence.
    pub hangs_on: String,
    /// How the wall moves with each input.
    pub sensitivities: Vec<SensitivityRow>,
    /// Other methods beside the governing one.
    pub cross_checks: Vec<CrossCheckRow>,
    /// Notes of the calculation.
    pub notes: Vec<State>,
    /// What the calculation does not do.
    pub limits_of_method: Vec<String>,
    /// Who decides.
    pub caution: String,
}

/// What is calculated, for whom, from which record.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Head {
    /// Title of the contract.
    pub project_title: String,
    /// What is calculated, such as "liner wall".
    pub subject: String,
    /// Owner's identifier of the segment.
    pub owner_segment_id: String,
    /// Facts by name, such as the manholes and the record's revision.
    pub facts: Vec<(String, String)>,
    /// Record with its revision, such as `designs/d-1@41`.
    pub record: String,
    /// Revision of the project and its commit.
    pub revision: String,
}

/// What came out.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Answer {
    /// Governing check and station in a sentence.
    pub sentence: String,
    /// Figures by name.
    pub figures: Vec<(String, Figure)>,
}

/// Seal and signature.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Seal {
    /// What the record says of the seal.
    pub words: String,
}

/// One input.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Input {
    /// Name in words.
    pub name: String,
    /// Symbol in the equations; empty where there is none.
    pub symbol: String,
    /// Value.
    pub value: Figure,
    /// Measured, owner's default, assumed, or declared by the maker.
    pub provenance: State,
    /// Paper or record in words, with record and revision where it comes from one.
    pub source: String,
}

/// Loads at one section.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Section {
    /// Station.
    pub station: Figure,
    /// Why it stands out, such as "shallowest".
    pub place: String,
    /// Cover.
    pub cover: Figure,
    /// Groundwater above the crown and above the invert.
    pub groundwater: Figure,
    /// Live load.
    pub live_load: Figure,
    /// Pressure at the invert.
    pub pressure: Figure,
    /// Buoyancy factor and coefficient of elastic support.
    pub factors: String,
    /// Total external load.
    pub external_load: Figure,
}

/// Equations that belong together.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct StepGroup {
    /// Heading, such as "Section at 0.00 m, shallowest".
    pub title: String,
    /// Its equations in the order in which they are computed.
    pub steps: Vec<Step>,
}

/// One equation with its numbers.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Step {
    /// Key of the equation in the template's list.
    pub equation: String,
    /// Number and name of the check.
    pub title: String,
    /// The equation in symbols, as plain text.
    pub symbols: String,
    /// The equation with its numbers, as plain text.
    pub substituted: String,
    /// The numbers by symbol, with their units.
    pub values: BTreeMap<String, String>,
    /// What it gives.
    pub result: Figure,
    /// What it is held against; absent where nothing is.
    pub limit: Option<Figure>,
    /// How it stands; absent where nothing is judged.
    pub state: Option<State>,
    /// Title, number, year and page.
    pub source: String,
}

/// One check at one section.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CheckRow {
    /// Station, or what else the check is of.
    pub station: Figure,
    /// Number and name of the check.
    pub check: String,
    /// Its value, such as the wall it asks for, or why it does not apply.
    pub wall: Figure,
    /// How the value stands beside its limit; the governing check says so.
    pub state: State,
}

/// How the wall moves with one input.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct SensitivityRow {
    /// Input in words.
    pub name: String,
    /// Step.
    pub step: Figure,
    /// Change of the wall one step below.
    pub below: Figure,
    /// Change of the wall one step above.
    pub above: Figure,
    /// Where the input comes from.
    pub provenance: State,
}

/// Another method beside the governing one.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CrossCheckRow {
    /// Method.
    pub method: String,
    /// Its value.
    pub value: Figure,
    /// What it is compared with.
    pub compared_with: Figure,
    /// What was compared.
    pub comparison: String,
    /// Where the equation is printed.
    pub source: String,
}

impl CalculationSheet {
    /// The sheet as the JSON value that [`crate::Document::data`] takes.
    ///
    /// # Errors
    /// [`TypesetError::Data`] when a field cannot be written as JSON.
    pub fn to_data(&self) -> Result<Value, TypesetError> {
        serde_json::to_value(self).map_err(|error| TypesetError::Data(error.to_string()))
    }
}

impl Mark {
    /// The same shape as a character, for a page that is no PDF.
    pub fn character(self) -> char {
        match self {
            Self::Met => '\u{25cf}',
            Self::Open => '\u{25a1}',
            Self::Failed => '\u{25b2}',
            Self::Varied => '\u{25c6}',
            Self::NotApplicable => '\u{2013}',
        }
    }
}
