//! The typesetter: a filled sheet, its bytes, and what it refuses.

mod children;
mod closed_world;
mod literal_text;
mod rendering;
mod running_head;
mod sample;
mod sample_cure_log;
mod sample_evidence;
mod sample_heart;
mod sample_points;
mod sample_site;

use obvert_typeset::{Document, Paper, Template, segment_sheet::SegmentSheet};

/// The sheet as a document with the sample's files.
fn document_of(sheet: &SegmentSheet) -> Document {
    Document {
        template: Template::SegmentPackage,
        data: sheet.to_data().unwrap(),
        files: sample::sample_files(),
        ident: "s-014-r3".into(),
        title: "Segment s-014, closeout package r3".into(),
        time_unix_s: 1_781_815_320,
        paper: Paper::Letter,
    }
}

/// Whether the PDF holds these bytes outside its compressed page streams: metadata, bookmarks and
/// alternative texts are written in the open.
fn holds(pdf: &[u8], text: &str) -> bool {
    pdf.windows(text.len())
        .any(|window| window == text.as_bytes())
}
