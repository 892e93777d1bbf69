//! Corrections, the evidence index, cautions and verification.

use serde::Serialize;

use super::State;

/// A value that was corrected. Both values stay in the package.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Correction {
    /// The record and the revision that corrected it, `name@revision`.
    pub record: String,
    /// The field.
    pub field: String,
    /// The value before, with its revision.
    pub old_value: String,
    /// The value after.
    pub new_value: String,
    /// The reason given.
    pub reason: String,
    /// Name, role and time.
    pub corrected_by: String,
}

/// One piece of evidence.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Evidence {
    /// What is asked for, such as `Delivery note and receiving check`.
    pub title: String,
    /// `present`, `missing`, `waived`, `not applicable`, with its shape.
    pub state: State,
    /// Who waived it and why, or why it does not apply.
    pub state_reason: Option<String>,
    /// The record, `name@revision`. `None` where nothing was filed.
    pub record: Option<String>,
    /// The file's path inside the package.
    pub file: Option<String>,
    /// SHA-256 of the file, 64 hexadecimal digits. Printed in two lines of 32.
    pub sha256: Option<String>,
    /// Who signed, and when.
    pub signer: Option<String>,
    /// Grade of the paper.
    pub grade: Option<String>,
}

/// A caution of the trade.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Caution {
    /// Two or three words, such as `Ultraviolet light`.
    pub title: String,
    /// One or two sentences.
    pub text: String,
}

/// How to check the package with ordinary tools.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Verification {
    /// What the commands show and what they do not show.
    pub explanation: String,
    /// The commands as they are typed, each with what it answers.
    pub commands: Vec<(String, String)>,
    /// Fingerprint of the signer's key and where the owner gets it from.
    pub fingerprint_note: String,
}
