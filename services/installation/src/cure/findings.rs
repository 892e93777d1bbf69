//! What a log says beside its run: length, band and verdict. Identity and time stand in files of
//! their own.

use obvert_engineering::cure_log::LengthTolerance;
use obvert_proto::{
    common::v1::{Finding, RecordRef},
    installation::v1::{CureHeader, CureVerdict},
};

use super::{
    analysis::{Analysis, run_length},
    band::Found,
    facts::RunFacts,
    identity, window,
};

/// Every finding on a log.
pub(super) fn findings(
    header: &CureHeader,
    facts: &RunFacts,
    band: &Found,
    analysis: &Analysis,
    is_file: bool,
) -> Vec<Finding> {
    let mut found = identity::findings(header, facts);
    found.extend(window::findings(facts, analysis.lit_ms));
    found.extend(length(facts, analysis));
    if let Found::NoBand(why) = band {
        found.push(Finding::holding("no-tolerance-given", why.clone(), &[]));
    }
    let outside = analysis.deviations.len();
    match analysis.verdict {
        CureVerdict::OutsideTolerance => {
            let places = match outside {
                1 => "1 place".to_owned(),
                count => format!("{count} places"),
            };
            let message =
                format!("The log leaves the entered tolerance in {places}: the engineer decides.");
            found.push(Finding::holding(
                "outside-tolerance",
                message,
                &[("place_count", outside as f64)],
            ));
        }
        CureVerdict::DataUnfit => {
            let first = analysis
                .figures
                .data_faults
                .first()
                .cloned()
                .unwrap_or_default();
            let message = format!("The data are unfit for a verdict: {first}");
            found.push(Finding::holding("data-unfit", message, &[]));
        }
        _ => {}
    }
    if !header.counts_from_inside_wall() {
        let message = "The log does not count from the inside wall of the first manhole, so its \
                       stations are taken as the counter gives them.";
        found.push(Finding::note(
            "datum-not-inside-wall",
            message.to_owned(),
            &[],
        ));
    }
    if !is_file {
        let message = "The samples were sent as columns: no native file is kept.";
        found.push(Finding::note("no-native-file", message.to_owned(), &[]));
    }
    let records: Vec<RecordRef> = vec![facts.record.clone()];
    found
        .into_iter()
        .map(|one| Finding {
            records: records.clone(),
            ..one
        })
        .collect()
}

/// Logged length against the run, with the proposed tolerance.
fn length(facts: &RunFacts, analysis: &Analysis) -> Option<Finding> {
    let logged_m = analysis.logged_length_m?;
    let closure = run_length(facts).closure(logged_m, LengthTolerance::default());
    closure.outside.then(|| {
        let message = format!(
            "The log covers {logged_m:.2} m, the run has {:.2} m: the difference of {:+.2} m is \
             more than {:.2} m; check that it is the log of this run.",
            closure.run_m, closure.difference_m, closure.tolerance_m
        );
        let values = [
            ("logged_length_m", logged_m),
            ("run_length_m", closure.run_m),
            ("difference_m", closure.difference_m),
            ("tolerance_m", closure.tolerance_m),
        ];
        Finding::holding("length-differs", message, &values)
    })
}
