//! `[package]`: what the document of a package has beside that which every one has.

use obvert_tables::toml_text::{Faults, Reader};

use super::{
    cover::{self, CoverText},
    sections,
};

/// What a plan says about packages; a plan without the table says nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PackageText {
    /// Sections that the document does without, of [`SECTIONS`](super::SECTIONS).
    pub left_out: Vec<&'static str>,
    /// The owner's own first page.
    pub cover: Option<CoverText>,
}

/// Reads the table.
pub(super) fn read(table: Option<Reader<'_>>, faults: &mut Faults<'_>) -> PackageText {
    let Some(mut table) = table else {
        return PackageText::default();
    };
    let left_out = sections::left_out(&mut table, faults);
    let cover = table.table_if_any("cover", faults);
    let cover = cover.map(|cover| cover::read(cover, faults));
    table.finish(faults);
    PackageText { left_out, cover }
}
