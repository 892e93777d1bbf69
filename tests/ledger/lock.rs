//! One process per folder.

use super::support::{close, config, open, run};
use obvert_ledger::{Ledger, OpenError, tools};
use std::time::{Duration, Instant};
use tempfile::tempdir;

#[test]
fn a_second_opener_is_refused_within_a_second_and_told_the_process() {
    run(async {
        let folder = tempdir().unwrap();
        let ledger = open(folder.path()).await;
        let started = Instant::now();
        let Err(error) = Ledger::open(config(folder.path())).await else {
            panic!("it opened")
        };
        assert!(
            started.elapsed() < Duration::from_secs(1),
            "{:?}",
            started.elapsed()
        );
        let OpenError::Held { pid, folder: named } = &error else {
            panic!("{error}")
        };
        assert_eq!((*pid, named.as_path()), (std::process::id(), folder.path()));
        assert!(error.to_string().contains(&pid.to_string()), "{error}");
        assert!(tools::rebuild(folder.path()).is_err());
        assert_eq!(tools::verify(folder.path()).unwrap().findings, vec![]);
        close(ledger).await;
        close(open(folder.path()).await).await;
    });
}

#[test]
fn a_ledger_that_is_only_dropped_lets_the_folder_go_and_stops_cleanly() {
    run(async {
        let folder = tempdir().unwrap();
        for revision in 1..5 {
            let ledger = open(folder.path()).await;
            assert!(ledger.opening().clean);
            let done = super::support::write(&ledger, "segments/a", "x")
                .await
                .unwrap();
            assert_eq!(done.revision, revision);
        }
    });
}
