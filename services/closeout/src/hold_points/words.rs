//! Words of the schema's enumerations, and dates, for findings.

use jiff::civil::Date;
use obvert_proto::{
    common::v1::{LocalDate, PaperGrade, ThicknessBasis},
    dates::unix_ms,
};

/// Grade of paper in words.
pub(super) fn grade(grade: PaperGrade) -> &'static str {
    match grade {
        PaperGrade::Unspecified => "ungraded",
        PaperGrade::Transcribed => "transcribed",
        PaperGrade::CheckedBySecondRole => "checked by a second role",
        PaperGrade::ConfirmedByIssuer => "confirmed by its issuer",
        PaperGrade::Direct => "filed by its issuer",
    }
}

/// Basis of a thickness in words.
pub(super) fn basis(basis: ThicknessBasis) -> &'static str {
    match basis {
        ThicknessBasis::Unspecified => "no stated basis",
        ThicknessBasis::TotalWithFilms => "total wall with films",
        ThicknessBasis::Composite => "composite wall",
        ThicknessBasis::Structural => "structural laminate",
        ThicknessBasis::SaturatedTube => "saturated tube",
    }
}

/// Calendar date of a field, if it holds one.
pub(super) fn date(date: Option<&LocalDate>) -> Option<Date> {
    date.and_then(LocalDate::to_civil)
}

/// Milliseconds of a field, if it holds a time.
pub(super) fn ms(time: Option<&prost_types::Timestamp>) -> Option<i64> {
    time.map(unix_ms)
}

/// Hours from one instant to another.
pub(super) fn hours(from_ms: i64, to_ms: i64) -> f64 {
    (to_ms - from_ms) as f64 / 3_600_000.0
}

/// Whole days from one date to another.
pub(super) fn days(from: Date, to: Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}
