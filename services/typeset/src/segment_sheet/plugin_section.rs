//! Sections that plug-ins wrote.

use serde::Serialize;

/// One section, printed under its own heading and under the plug-in's name.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PluginSection {
    /// Title, as the plug-in gave it.
    pub title: String,
    /// Which plug-in of which version wrote it from which evidence, or why it is missing.
    pub written_by: String,
    /// Paragraphs and tables in order.
    pub blocks: Vec<PluginBlock>,
}

/// A part of such a section.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum PluginBlock {
    /// Plain text.
    Paragraph {
        /// The text.
        text: String,
    },
    /// A table; each row has as many cells as there are titles.
    Table {
        /// Titles of its columns.
        titles: Vec<String>,
        /// Cells, row by row.
        rows: Vec<Vec<String>>,
    },
}
