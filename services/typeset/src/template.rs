//! The layouts and their sources, which are part of the program.

use std::sync::LazyLock;

use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};

/// A layout. Each has a static source and documents the shape of its data.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Template {
    /// The closeout document of one segment; takes a
    /// [`SegmentSheet`](crate::segment_sheet::SegmentSheet).
    SegmentPackage,
    /// The calculation sheet of one design; takes a
    /// [`CalculationSheet`](crate::calculation_sheet::CalculationSheet).
    CalculationSheet,
}

impl Template {
    /// All layouts.
    const ALL: [Self; 2] = [Self::SegmentPackage, Self::CalculationSheet];

    /// Name under which a child knows it.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::SegmentPackage => "segment-package",
            Self::CalculationSheet => "calculation-sheet",
        }
    }

    /// Layout of a name.
    pub(crate) fn of_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|known| known.name() == name)
    }

    /// The file at which the typesetter starts.
    pub(crate) fn main(self) -> FileId {
        match self {
            Self::SegmentPackage => SOURCES[0].id(),
            Self::CalculationSheet => SOURCES[1].id(),
        }
    }
}

/// The template source with this id.
pub(crate) fn source(id: FileId) -> Option<&'static Source> {
    SOURCES.iter().find(|source| source.id() == id)
}

/// The id of a path inside the document's own closed folder.
///
/// The typesetter keeps each id for the life of the process and has 65,535 of them, so a path must
/// never come from a request.
pub(crate) fn file_id(path: &str) -> Option<FileId> {
    let path = VirtualPath::new(path).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

macro_rules! sources {
    ($($name:literal),+ $(,)?) => {
        [$((concat!("/", $name), include_str!(concat!("../templates/", $name)))),+]
    };
}

static SOURCES: LazyLock<Vec<Source>> = LazyLock::new(|| {
    sources![
        "segment_package.typ",
        "calculation_sheet.typ",
        "equations.typ",
        "layout.typ",
        "parts.typ",
        "changes.typ",
        "cover.typ",
        "owner_cover.typ",
        "heart.typ",
        "points.typ",
        "design.typ",
        "cure_log.typ",
        "laboratory.typ",
        "papers.typ",
        "plugin_sections.typ",
        "site.typ",
        "evidence.typ",
    ]
    .into_iter()
    .filter_map(|(path, text)| Some(Source::new(file_id(path)?, text.to_owned())))
    .collect()
});
