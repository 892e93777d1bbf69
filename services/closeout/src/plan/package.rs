//! `[package]`: what the document of a package has beside that which every one has.

use obvert_tables::toml_text::{Faults, Reader};

use super::{
    cover::{self, CoverText},
    sections,
};

/// Longest id of a plug-in.
const ID_CHARS: usize = 60;

/// What a plan says about packages; a plan without the table says nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PackageText {
    /// Sections that the document does without, of [`SECTIONS`](super::SECTIONS).
    pub left_out: Vec<&'static str>,
    /// The owner's own first page.
    pub cover: Option<CoverText>,
    /// Plug-ins that the owner wants a section of, by their ids in a server's config.
    pub plugin_sections: Vec<String>,
}

/// Reads the table.
pub(super) fn read(table: Option<Reader<'_>>, faults: &mut Faults<'_>) -> PackageText {
    let Some(mut table) = table else {
        return PackageText::default();
    };
    let left_out = sections::left_out(&mut table, faults);
    let plugin_sections = plugin_sections(&mut table, faults);
    let cover = table.table_if_any("cover", faults);
    let cover = cover.map(|cover| cover::read(cover, faults));
    table.finish(faults);
    PackageText {
        left_out,
        cover,
        plugin_sections,
    }
}

/// Ids of plug-ins. Which ones a server has is not known here, so a package says what is missing.
fn plugin_sections(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Vec<String> {
    let words = table.words("plugin_sections", faults);
    let mut read: Vec<String> = Vec::new();
    for (word, place) in words {
        if word.trim().is_empty() || word.chars().count() > ID_CHARS {
            let message = format!(
                "plugin_sections names \"{word}\": write the id of a plug-in, 1 to {ID_CHARS} \
                 characters"
            );
            faults.add(place, message);
        } else if read.contains(&word) {
            let message = format!("plugin_sections names \"{word}\" twice: take one out");
            faults.add(place, message);
        } else {
            read.push(word);
        }
    }
    read
}
