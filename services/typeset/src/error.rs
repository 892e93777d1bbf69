//! Why a document could not be typeset.

use std::fmt;

use crate::Document;

/// Why there is no PDF.
#[derive(Debug, thiserror::Error)]
pub enum TypesetError {
    /// The data cannot be written as JSON.
    #[error("the data of the document cannot be written as JSON: {0}")]
    Data(String),
    /// More files than one document may bring.
    #[error(
        "the document brings {count} files, at most {max} are allowed: draw fewer plots",
        max = Document::FILE_COUNT_MAX
    )]
    TooManyFiles {
        /// The files that were given.
        count: usize,
    },
    /// The time lies outside the years that a PDF can state.
    #[error(
        "time_unix_s is {time_unix_s} s, a PDF states the years 0 to 9999: give the commit time in \
         seconds since 1970"
    )]
    TimeOutOfRange {
        /// The time that was given.
        time_unix_s: i64,
    },
    /// A child that typesets ended, took too long, or could not be started.
    #[error("the process that typesets failed: {0}")]
    Child(String),
    /// The document is larger than the limit of a child's answer.
    #[error("the document is too large: {0}; have the operator of the server raise document_bytes")]
    TooLarge(String),
    /// A child refused the document, in the words of one of the other errors.
    #[error("{0}")]
    Refused(String),
    /// The template could not be laid out with this data and these files.
    #[error("the document could not be laid out: {}", listed(.0))]
    Layout(Vec<Diagnostic>),
    /// The pages were laid out and the exporter refused them.
    #[error("the pages do not conform to PDF/A-2a with PDF/UA-1: {}", listed(.0))]
    Export(Vec<Diagnostic>),
}

/// One message of the typesetter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// What is wrong.
    pub message: String,
    /// Template file and line, where they are known.
    pub place: Option<String>,
    /// What to do, in the typesetter's words.
    pub hints: Vec<String>,
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if let Some(place) = &self.place {
            write!(f, " ({place})")?;
        }
        for hint in &self.hints {
            write!(f, "; {hint}")?;
        }
        Ok(())
    }
}

fn listed(diagnostics: &[Diagnostic]) -> String {
    let lines: Vec<String> = diagnostics.iter().map(Diagnostic::to_string).collect();
    lines.join(" | ")
}
