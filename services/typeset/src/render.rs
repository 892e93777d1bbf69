//! From a document to the bytes of its PDF.

use jiff::Timestamp as Instant;
use jiff::tz::TimeZone;
use typst::diag::{SourceDiagnostic, Warned};
use typst::foundations::{Datetime, Smart};
use typst::{World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use crate::world::ClosedWorld;
use crate::{Diagnostic, Document, TypesetError};

/// Typesets a document as PDF/A-2a with PDF/UA-1.
///
/// The same document gives the same bytes. The call takes tens of milliseconds of one core (the
/// first one also loads the fonts) and blocks, so asynchronous callers use `spawn_blocking`.
///
/// # Errors
/// [`TypesetError::Layout`] when the data does not have the template's shape or names a file that
/// was not given; [`TypesetError::Export`] when a picture or text cannot be archived;
/// [`TypesetError::TooManyFiles`] and [`TypesetError::TimeOutOfRange`] as their names say.
pub fn render(document: &Document) -> Result<Vec<u8>, TypesetError> {
    let _eviction = Eviction;
    let timestamp = timestamp(document.time_unix_s)?;
    let world = ClosedWorld::new(document)?;
    let Warned { output, .. } = typst::compile::<PagedDocument>(&world);
    let pages = output.map_err(|errors| TypesetError::Layout(listed(&world, &errors)))?;
    let options = PdfOptions {
        ident: Smart::Custom(document.ident.clone()),
        creator: Smart::Custom(Some("Obvert".into())),
        timestamp: Some(timestamp),
        standards: standards()?,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(&pages, &options).map_err(|errors| TypesetError::Export(listed(&world, &errors)))
}

/// Empties the typesetter's cache when a rendering ends, also when it fails: what a failed
/// document left behind would otherwise stay for the life of the process.
struct Eviction;

impl Drop for Eviction {
    fn drop(&mut self) {
        comemo::evict(0);
    }
}

fn standards() -> Result<PdfStandards, TypesetError> {
    PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1]).map_err(|error| {
        let message = error.message().to_string();
        TypesetError::Export(vec![Diagnostic {
            message,
            place: None,
            hints: Vec::new(),
        }])
    })
}

fn timestamp(time_unix_s: i64) -> Result<Timestamp, TypesetError> {
    let out_of_range = TypesetError::TimeOutOfRange { time_unix_s };
    let Ok(instant) = Instant::from_second(time_unix_s) else {
        return Err(out_of_range);
    };
    let time = TimeZone::UTC.to_datetime(instant);
    let part = |value: i8| u8::try_from(value).unwrap_or_default();
    if time.year() < 0 {
        return Err(out_of_range);
    }
    Datetime::from_ymd_hms(
        i32::from(time.year()),
        part(time.month()),
        part(time.day()),
        part(time.hour()),
        part(time.minute()),
        part(time.second()),
    )
    .map(Timestamp::new_utc)
    .ok_or(out_of_range)
}

fn listed(world: &ClosedWorld, errors: &[SourceDiagnostic]) -> Vec<Diagnostic> {
    let place = |error: &SourceDiagnostic| {
        let id = error.span.id()?;
        let source = world.source(id).ok()?;
        let byte = world.range(error.span)?.start;
        let line = source.lines().byte_to_line(byte)? + 1;
        Some(format!("{} line {line}", id.vpath().get_without_slash()))
    };
    let diagnostic = |error: &SourceDiagnostic| Diagnostic {
        message: error.message.to_string(),
        place: place(error),
        hints: error.hints.iter().map(|hint| hint.v.to_string()).collect(),
    };
    errors.iter().map(diagnostic).collect()
}
