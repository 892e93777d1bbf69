//! Typesetting: data in, PDF out. The only crate that names typst.
//!
//! [`render`] takes a [`Document`] (which template, the data as JSON, the plots) and gives the
//! bytes of a PDF that is both PDF/A-2a (for the archive) and PDF/UA-1 (readable aloud).
//!
//! ```text
//! SegmentSheet --to_data--> JSON --plain_text--> JSON the fonts can set --typst--> pages --> PDF
//! ```
//!
//! Invariants:
//! - Templates are static and are never built from text. Data is read as JSON by the template, so
//!   no value can become markup.
//! - A template sees its own sources, `data.json` and the files of its document. There is no other
//!   file, no package, no network and no clock.
//! - Same document, same bytes, in every process of one version.
//! - A character that no font holds is printed as its code point, `[U+4E2D]`; it neither vanishes
//!   nor stops the document.
//!
//! Rendering takes tens of milliseconds of one core and does not yield: call it from
//! `spawn_blocking`. A server has it done by [`Children`], so that no document can stall it.

pub mod calculation_sheet;
mod document;
mod error;
pub mod figures;
mod fonts;
mod plain_text;
mod render;
pub mod segment_sheet;
mod template;
mod typesetter;
mod worker;
mod world;

pub use document::{Document, Paper};
pub use error::{Diagnostic, TypesetError};
pub use render::render;
pub use template::Template;
pub use typesetter::{ChildLimits, Children, Typesetter};
pub use worker::serve;
