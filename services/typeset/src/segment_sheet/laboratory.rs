//! Laboratory results.

use serde::Serialize;

use super::{Figure, State};

/// A laboratory report on one sample.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct LaboratoryReport {
    /// The report record, `name@revision`.
    pub record: String,
    /// Laboratory, report number, date, accreditation.
    pub laboratory: String,
    /// The sample, such as `sa-0091, MQ-115, restrained`.
    pub sample: String,
    /// Test method with edition and direction.
    pub method: String,
    /// Grade of the paper: `direct`, `confirmed by issuer`, `checked by second role`,
    /// `transcribed`.
    pub grade: String,
    /// The specimens one by one. Left out for a report without single values.
    pub specimens: Option<Specimens>,
    /// Mean, spread and both verdicts for each property.
    pub results: Vec<LaboratoryResult>,
}

/// A table of single specimens; its columns differ between methods.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Specimens {
    /// Column titles with units, the specimen's number first.
    pub columns: Vec<String>,
    /// Rows, each as long as `columns`.
    pub rows: Vec<Vec<String>>,
}

/// One property of a report, compared twice.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct LaboratoryResult {
    /// The property, such as `Flexural modulus, short term`.
    pub property: String,
    /// Mean of the specimens.
    pub mean: Figure,
    /// Sample standard deviation (n - 1) with the number of specimens, or why there is none.
    pub sample_deviation: String,
    /// The value that the design used.
    pub design_value: Figure,
    /// The verdict against the design value.
    pub against_design: State,
    /// The floor of the standard, with its number and year in the basis.
    pub standard_floor: Figure,
    /// The verdict against the floor.
    pub against_floor: State,
}
