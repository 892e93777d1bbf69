//! What a caller hands over for one PDF.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::Template;

/// One document to typeset. It determines every byte of the PDF.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// The layout.
    pub template: Template,
    /// The data in the shape that the template documents, such as
    /// [`SegmentSheet`](crate::segment_sheet::SegmentSheet).
    pub data: Value,
    /// Pictures by the name under which the data speaks of them: SVG, PNG or JPEG. At most
    /// [`Document::FILE_COUNT_MAX`].
    pub files: BTreeMap<String, Vec<u8>>,
    /// A stable name of this document, printed in the footer and hashed into the PDF's own id:
    /// the package with its revision, such as `s-014-r3`.
    pub ident: String,
    /// The title in the PDF's metadata and window bar.
    pub title: String,
    /// The time stamped into the PDF's metadata in seconds since 1970-01-01 UTC: the commit time
    /// of the revision, never the present time.
    pub time_unix_s: i64,
    /// The sheet.
    pub paper: Paper,
}

impl Document {
    /// The most files of one document. The typesetter never forgets a file's path, so paths come
    /// from a fixed set.
    pub const FILE_COUNT_MAX: usize = 1_000;
}

/// The sheet that the document is laid out for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 in by 11 in.
    #[default]
    Letter,
    /// 210 mm by 297 mm.
    A4,
}

impl Paper {
    /// The name of the sheet in the typesetter.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Letter => "us-letter",
            Self::A4 => "a4",
        }
    }
}
