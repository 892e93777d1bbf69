//! Papers and their grades.

use serde::Serialize;

/// One paper that points rest on: who typed it and who compared it with its original.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Paper {
    /// Record and revision, such as `certificates/c-1@41`.
    pub record: String,
    /// Grade of the paper: `direct`, `confirmed by issuer`, `checked by second role`,
    /// `transcribed`.
    pub grade: String,
    /// Who filed it, under which role, when.
    pub filed_by: String,
    /// Who compared this state of it, under which role, when; what they found where it differs.
    pub compared_by: Vec<String>,
    /// Ids of its originals.
    pub originals: Vec<String>,
}
