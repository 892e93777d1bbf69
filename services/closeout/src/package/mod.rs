//! The package of one segment: everything that proves how it was lined, signed, in one file.
//!
//! 1. [`assemble_stream`] asks whether the caller may and whether every point is past, then loads.
//! 2. [`Sources::read`] reads the blobs and the older states that the package shows.
//! 3. [`build`] makes the payload: records with their schemas, verdicts, plan, originals, series,
//!    plots, corrections, and the document `closeout.pdf`.
//! 4. `bag` lists the payload, signs the list, packs all of it and signs the packed bytes.
//! 5. The file is stored as a blob and its record committed; it is served as stored ever after.
//!
//! Invariants:
//! - [`build`] is pure: same sources, same key, same program version, same bytes. Its time is the
//!   commit time of the revision.
//! - Every byte of the ZIP is bound by a signature: those before the last entry by that entry, the
//!   directory because the entries imply it.
//! - Ordinary tools verify a package: `sha256sum` its files, `openssl` its signer.
//! - Names and phones of residents are not in the journal, so they are in no package; who took part
//!   is left out unless asked for, and what is left out is listed.
//! - A package says what differs from the one issued before, and which section of a plug-in it lacks.

mod asked_sections;
mod assemble;
mod bag;
mod build;
mod builds;
mod corrections;
mod cure;
mod download;
mod file_schemas;
mod json_schema;
mod logo;
mod make;
mod originals;
mod press;
mod proto_json;
mod record_files;
mod redaction;
mod sheet;
mod signer;
mod since;
mod sources;
mod trace;
mod words;
mod zip_writer;

use obvert_typeset::figures;

pub use build::{Built, build, document};
pub use logo::Logo;
pub use press::{PackageLimits, Press};
pub use redaction::Redaction;
pub use signer::{Signer, announce, fingerprint};
pub use sources::{Issue, Sources, Terms};

pub(crate) use assemble::{AssembleStream, assemble_stream};
pub(crate) use builds::{cancel, go_on, resume, start, watch};
pub(crate) use download::{DownloadStream, download_stream};
pub(crate) use logo::logo_findings;
pub(crate) use trace::trace;

/// Lower-case hexadecimal digits.
fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
