//! Volumes of a journal: read, checked, and opened with what is unfinished set aside.

use std::fs;

use obvert_ledger::{Ledger, tools};
use tempfile::tempdir;

use super::Target;
use crate::audit::frames::Volume;
use crate::ledger::support::{close, config, first_volume, open, run, write};

#[test]
fn no_volume_panics_and_what_opens_goes_on() {
    let folder = tempdir().unwrap();
    run(async {
        let ledger = open(folder.path()).await;
        for number in 0..4 {
            write(&ledger, &format!("segments/s{number}"), "w")
                .await
                .unwrap();
        }
        close(ledger).await;
    });
    let seed = fs::read(first_volume(folder.path())).unwrap();
    let mut plays = 0;
    let mut play = |input: &[u8]| {
        plays += 1;
        let folder = tempdir().unwrap();
        let path = first_volume(folder.path());
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        // Every second input gets its checksums made right, so that what lies behind them is reached.
        let laid_out = Volume::of_damaged(input).bytes();
        fs::write(&path, if plays % 2 == 0 { &laid_out } else { input }).unwrap();
        let report = tools::verify(folder.path());
        let _ = tools::commits(folder.path(), &mut |_, _| Ok(()));
        if plays % 8 < 2 {
            opens(
                folder.path(),
                report.is_ok_and(|report| report.findings.is_empty()),
            );
        }
    };
    Target {
        name: "journal",
        seeds: vec![seed],
        ordinary: 600,
        play: &mut play,
    }
    .run();
}

/// A journal in order opens; one that opens takes the next commit.
fn opens(folder: &std::path::Path, in_order: bool) {
    run(async {
        match Ledger::open(config(folder)).await {
            Ok(ledger) => {
                write(&ledger, "segments/next", "w").await.unwrap();
                close(ledger).await;
            }
            Err(error) => assert!(!in_order, "in order, but refused: {error}"),
        }
    });
}
