//! The check that an author of a plug-in runs against it.

use std::{path::PathBuf, time::Duration};

use clap::ArgMatches;
use obvert_plugins::{Address, conformance};

use super::{file_name, text};
use crate::{Exit, Failure, output::Output};

pub(crate) async fn check(given: &ArgMatches, output: Output) -> Result<(), Failure> {
    let usage = |message: String| Failure::new(Exit::Usage, message);
    let address = Address::parse(text(given, "address")).map_err(usage)?;
    let sample = match given.get_one::<PathBuf>("sample") {
        Some(path) => {
            let data = std::fs::read(path).map_err(|error| Failure::file(path, &error))?;
            Some((file_name(path), data))
        }
        None => None,
    };
    let deadline_s = given.get_one::<u64>("deadline-s").copied().unwrap_or(10);
    let check = conformance::Check {
        address,
        ca_file: given.get_one::<PathBuf>("ca-file").cloned(),
        deadline: Duration::from_secs(deadline_s),
        sample,
    };
    let rows = conformance::run(&check).await.map_err(usage)?;
    if output.is_json() {
        let rows = rows.iter().map(|row| {
            serde_json::json!({
                "kind": row.kind, "requirement": row.requirement,
                "passed": row.failure.is_none(), "whatToDo": row.failure,
            })
        });
        output.json(&rows.collect::<Vec<_>>())?;
    } else {
        let rows: Vec<_> = rows.iter().map(table_row).collect();
        output.table(&["", "kind", "requirement"], &rows)?;
    }
    let failed = rows.iter().filter_map(|row| {
        let what = row.failure.clone()?;
        Some((format!("{}: {}", row.kind, row.requirement), what))
    });
    let places: Vec<_> = failed.collect();
    if places.is_empty() {
        return output.say(&format!("all {} requirements are met", rows.len()));
    }
    let message = format!(
        "{} of {} requirements are not met",
        places.len(),
        rows.len()
    );
    Err(Failure {
        places,
        ..Failure::new(Exit::VerificationFailed, message)
    })
}

fn table_row(row: &conformance::Row) -> Vec<String> {
    let outcome = if row.failure.is_none() {
        "pass"
    } else {
        "FAIL"
    };
    let words = [outcome, row.kind, row.requirement];
    words.map(str::to_owned).to_vec()
}
