//! The cover of the closeout document.

use serde::Serialize;

use super::{Figure, State};

/// The first page: what, where, as of which revision, and how it stands.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Cover {
    /// The project's title.
    pub project_title: String,
    /// The owner's contract number or name.
    pub contract: String,
    /// The owner.
    pub owner: String,
    /// The contractor.
    pub contractor: String,
    /// The segment's id in the project, such as `s-014`.
    pub segment_id: String,
    /// The owner's own id of the pipe, printed as it stands.
    pub owner_segment_id: String,
    /// The upstream manhole by the owner's id.
    pub upstream_manhole: String,
    /// The downstream manhole by the owner's id.
    pub downstream_manhole: String,
    /// Street or easement in which the segment lies.
    pub location: String,
    /// Nominal diameter, and the measured one in the basis where there is one.
    pub diameter: Figure,
    /// The lengths, each with its basis (`wall to wall`, `centre to centre`).
    pub lengths: Vec<Figure>,
    /// How many packages of the segment there are with this one, such as `3`.
    pub package_revision: String,
    /// The project revision that was judged, such as `187`; printed with an `@` before it.
    pub project_revision: String,
    /// The plan that was judged by, with its revision, such as `plans/marrowby-2026@12`.
    pub plan_revision: String,
    /// The owner's mark of that plan, who filed it, and when.
    pub plan_filed: String,
    /// The commit time of the project revision, which is the date of this document.
    pub revision_time: String,
    /// The standing of the whole segment in one phrase.
    pub status: State,
    /// Further lines under the status: points released of all, variances, open nonconformances.
    pub status_lines: Vec<State>,
    /// Where a reader gets the signer's fingerprint from, and the fingerprint.
    pub signer_note: String,
    /// Remarks that hold for the whole document, such as the length basis or rounding.
    pub notes: Vec<String>,
    /// Lines that the owner wants under its name.
    pub owner_lines: Vec<String>,
    /// The owner's logo, when the owner gave one.
    pub logo: Option<Logo>,
}

/// An owner's logo.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Logo {
    /// Name of the SVG or PNG in [`crate::Document::files`].
    pub file: String,
    /// What the picture shows, for a reader who cannot see it.
    pub alt: String,
}
