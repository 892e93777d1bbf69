//! First start: one key for the office, in a file that only its owner may read.

use std::{fs::OpenOptions, io::Write, os::unix::fs::OpenOptionsExt};

use obvert_ledger::Ledger;
use obvert_records::now_ms;

use crate::{Config, Ended, Exit};

/// Name of the file, in the folder of the store.
pub(crate) const KEY_FILE: &str = "bootstrap.key";

/// Makes the first key when there is none, and writes it where the operator finds it.
pub(crate) async fn bootstrap(ledger: &Ledger, config: &Config) -> Result<(), Ended> {
    let failed = |what: String| Ended::new(Exit::Failure, format!("the first key: {what}"));
    let mut random = [0_u8; 32];
    getrandom::fill(&mut random).map_err(|error| failed(error.to_string()))?;
    let made = obvert_project::bootstrap_key(ledger, random, now_ms()).await;
    let Some(key) = made.map_err(|problem| failed(problem.message))? else {
        return Ok(());
    };
    let path = config.store.join(KEY_FILE);
    let mut file = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(true)
        .mode(0o600)
        .open(&path)
        .map_err(|error| failed(format!("{}: {error}", path.display())))?;
    writeln!(file, "{key}").map_err(|error| failed(error.to_string()))?;
    file.sync_all().map_err(|error| failed(error.to_string()))?;
    tracing::info!(file = %path.display(), "a key for the office was made: move it to where it is kept");
    Ok(())
}
