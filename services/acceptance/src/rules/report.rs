//! Means and scatter of a report, worked out from its specimens and readings.

use obvert_engineering::{Problems, flexure::SpecimenStatistics};
use obvert_proto::{Problem, Violation, acceptance::v1::LaboratoryReport};
use obvert_records::names::id_of;

/// What a report is known by: a laboratory numbers its reports, and one may cover several samples.
pub(super) fn claim(report: &LaboratoryReport) -> String {
    let LaboratoryReport {
        laboratory,
        report_number,
        sample,
        ..
    } = report;
    format!("report/{laboratory}/{report_number}/{}", id_of(sample))
}

/// The report with its figures.
///
/// The wall of a liner is not alike in both directions. Where specimens in the hoop direction were
/// tested, they alone count, since the hoop carries the load.
///
/// # Errors
///
/// `FIELDS_INVALID` when the statistics do not take a value.
pub(super) fn completed(report: LaboratoryReport) -> Result<LaboratoryReport, Problem> {
    let any_hoop = report
        .specimens
        .iter()
        .any(|specimen| specimen.hoop_direction);
    let counted = || {
        report
            .specimens
            .iter()
            .filter(|s| s.hoop_direction || !any_hoop)
    };
    let moduli: Vec<_> = counted().map(|s| s.flexural_modulus_mpa).collect();
    let strengths: Vec<_> = counted().map(|s| s.flexural_strength_mpa).collect();
    let of = |field: &'static str, values: &[f64]| {
        SpecimenStatistics::of(values).map_err(|found| refused(field, &found))
    };
    let modulus = of("laboratory_report.specimens", &moduli)?;
    let strength = of("laboratory_report.specimens", &strengths)?;
    let wall = of(
        "laboratory_report.wall_readings_mm",
        &report.wall_readings_mm,
    )?;
    Ok(LaboratoryReport {
        mean_flexural_modulus_mpa: modulus.mean,
        sd_flexural_modulus_mpa: modulus.sample_standard_deviation.unwrap_or_default(),
        mean_flexural_strength_mpa: strength.mean,
        sd_flexural_strength_mpa: strength.sample_standard_deviation.unwrap_or_default(),
        mean_wall_mm: wall.mean,
        min_wall_mm: wall.minimum,
        ..report
    })
}

fn refused(field: &str, found: &Problems) -> Problem {
    let wrong = found
        .0
        .iter()
        .map(|problem| Violation::new(field, problem.to_string()));
    Problem::fields(wrong.collect())
}
