//! The owner's own first page.

use serde::Serialize;

use super::Figure;

/// What the owner's plan puts on a page of its own before the cover; one page whatever it holds.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct OwnerCover {
    /// Title.
    pub title: String,
    /// Lines under the owner's name.
    pub lines: Vec<String>,
    /// Facts in the owner's order.
    pub facts: Vec<ShownFact>,
    /// Who signs by hand, a row each.
    pub signed_by: Vec<String>,
}

/// A fact under the owner's label.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ShownFact {
    /// The label.
    pub label: String,
    /// The fact; several where there are several liners.
    pub values: Vec<Figure>,
}
