//! The embedded fonts, loaded once: no document depends on what a machine has installed.

use std::sync::LazyLock;

use typst::text::Coverage;
use typst_kit::fonts::{FontStore, embedded};

/// The fonts of every document.
pub(crate) static FONTS: LazyLock<FontStore> = LazyLock::new(|| {
    let mut fonts = FontStore::new();
    fonts.extend(embedded());
    fonts
});

/// Whether some embedded font holds the character.
pub(crate) fn hold(character: char) -> bool {
    static INFOS: LazyLock<Vec<Coverage>> =
        LazyLock::new(|| embedded().map(|(_, info)| info.coverage).collect());
    INFOS
        .iter()
        .any(|coverage| coverage.contains(character as u32))
}
