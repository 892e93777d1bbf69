//! kill -9 under load, again and again over one ledger.
//!
//! The child is this test binary itself. The parent keeps the history of what the child said was
//! acknowledged, synced, and then asks the ledger.

use super::support::{PROJECT, close, config, draft, entry, expect, name, open, run};
use crate::campaign::rounds;
use obvert_ledger::{Committed, Draft, Expect, Ledger, LedgerError, OpenError, tools};
use rand::RngExt;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const FOLDER: &str = "OBVERT_TEST_LEDGER";
const ROUND: &str = "OBVERT_TEST_ROUND";

/// The request that the child makes, and makes again when it does not know the answer.
fn request(round: u32, number: u32) -> Draft {
    let record = format!("segments/s{round}-{number}");
    let claim = format!("pair/{round}-{number}");
    let body = format!("{round} {number} {}", "z".repeat(number as usize % 700));
    let mut draft = draft(vec![entry(&record, &body, &["segments/root"], &[&claim])]);
    draft.request_id = format!("r-{round}-{number}");
    draft.request_digest = [number as u8; 32];
    draft.asserts = vec![expect(&record, Expect::Absent)];
    draft
}

#[test]
#[ignore = "started by the kill test with a folder to write to"]
fn the_child_that_is_killed() {
    let folder = std::env::var(FOLDER).expect("only the kill test starts this");
    let round = std::env::var(ROUND).unwrap().parse().unwrap();
    run(async {
        let ledger = open(Path::new(&folder)).await;
        let writers = (0..8).map(|writer| {
            let ledger = ledger.clone();
            tokio::spawn(async move {
                for step in 0u32.. {
                    let number = step * 8 + writer;
                    let done = ledger.commit(request(round, number)).await.unwrap();
                    let said = format!("acked {number} {}\n", done.revision);
                    std::io::stdout().write_all(said.as_bytes()).unwrap();
                }
            })
        });
        futures::future::join_all(writers.collect::<Vec<_>>()).await;
    });
}

fn start_child(folder: &Path, round: u32) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "--ignored",
            "--nocapture",
            "ledger::kill::the_child_that_is_killed",
        ])
        .env(FOLDER, folder)
        .env(ROUND, round.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// What the child said until it was killed; synced to a file as it came.
fn run_child(folder: &Path, history: &mut File, round: u32) -> Vec<(u32, i64)> {
    let mut child = start_child(folder, round);
    let mut said = BufReader::new(child.stdout.take().unwrap());
    let mut random = rand::rng();
    if random.random_ratio(1, 8) {
        std::thread::sleep(Duration::from_millis(random.random_range(5..60)));
    } else {
        let mut first = String::new();
        while !first.contains("acked") && said.read_line(&mut first).unwrap() > 0 {}
        history.write_all(first.as_bytes()).unwrap();
        let left = first
            .split_once("acked")
            .map(|(_, after)| format!("acked{after}"));
        said = BufReader::new(said.into_inner());
        std::thread::sleep(Duration::from_millis(random.random_range(0..60)));
        child.kill().unwrap();
        child.wait().unwrap();
        return parse(left.unwrap_or_default(), said, history);
    }
    child.kill().unwrap();
    child.wait().unwrap();
    parse(String::new(), said, history)
}

fn parse(first: String, mut said: impl Read, history: &mut File) -> Vec<(u32, i64)> {
    let mut text = first;
    said.read_to_string(&mut text).unwrap();
    history.write_all(text.as_bytes()).unwrap();
    history.sync_data().unwrap();
    let whole = text.rsplit_once('\n').map_or("", |(whole, _)| whole);
    whole
        .lines()
        .filter_map(|line| {
            let (number, revision) = line.strip_prefix("acked ")?.split_once(' ')?;
            Some((number.parse().ok()?, revision.parse().ok()?))
        })
        .collect()
}

/// A ledger that this process only dropped lets its folder go when its threads have ended, which on a
/// busy machine takes longer than an opener waits.
async fn open_when_free(folder: &Path) -> Ledger {
    for _ in 0..100 {
        match Ledger::open(config(folder)).await {
            Err(OpenError::Held { pid, .. }) if pid == std::process::id() => {
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
            opened => return opened.unwrap(),
        }
    }
    panic!("this process never lets {} go", folder.display())
}

/// Asks for everything that round was told, and repeats its requests as a client would.
async fn check_round(ledger: &Ledger, round: u32, acked: &[(u32, i64)]) {
    for &(number, revision) in acked {
        let asked = request(round, number);
        let found = ledger.get(asked.entries[0].name.clone(), 0).await.unwrap();
        let found = found.unwrap_or_else(|| panic!("lost: round {round}, request {number}"));
        assert_eq!(
            (found.revision, found.body),
            (revision, asked.entries[0].body.clone())
        );
    }
    let last = acked.iter().map(|(number, _)| *number).max().unwrap_or(0);
    for number in last.saturating_sub(16)..last + 16 {
        let told = acked
            .iter()
            .find(|(acked, _)| *acked == number)
            .map(|(_, told)| *told);
        match (ledger.commit(request(round, number)).await, told) {
            (
                Ok(Committed {
                    replayed: true,
                    revision,
                    ..
                }),
                Some(told),
            ) => {
                assert_eq!(revision, told);
            }
            (Ok(_), None) => {}
            (other, told) => panic!("round {round}, request {number}: {other:?}, told {told:?}"),
        }
    }
}

#[test]
fn kills_under_load_lose_nothing_double_nothing_and_leave_the_chain_whole() {
    let folder = tempfile::tempdir().unwrap();
    let ledger_folder = folder.path().join("ledger");
    let mut history = File::create(folder.path().join("history")).unwrap();
    let mut all = BTreeMap::new();
    for round in 0..rounds(50, 1_000) {
        let acked = run_child(&ledger_folder, &mut history, round);
        run(async {
            let ledger = open_when_free(&ledger_folder).await;
            check_round(&ledger, round, &acked).await;
            if round % 2 == 0 {
                close(ledger).await;
            }
        });
        all.insert(round, acked);
    }
    let told: usize = all.values().map(Vec::len).sum();
    assert!(
        told > 50 * 20,
        "only {told} commits were acknowledged: not much of a load"
    );
    run(async {
        let ledger = open_when_free(&ledger_folder).await;
        for (round, acked) in &all {
            check_round(&ledger, *round, acked).await;
        }
        let head = ledger.head(PROJECT.into()).await.unwrap();
        let mut seen = BTreeMap::new();
        let mut after = 0;
        while after < head.revision {
            for commit in ledger.commits(PROJECT.into(), after, 1000).await.unwrap() {
                after = commit.revision;
                let twice = seen.insert(commit.request_id.clone(), commit.revision);
                assert_eq!(twice, None, "{} was committed twice", commit.request_id);
            }
        }
        let again = ledger.commit(request(0, 0)).await;
        assert!(
            matches!(again, Ok(_) | Err(LedgerError::Exists { .. })),
            "{again:?}"
        );
        let root = ledger
            .referrers(name("segments/root"), None, None, 10, 0)
            .await
            .unwrap();
        assert_eq!(root.items.len(), 10);
        close(ledger).await;
    });
    let report = tools::verify(&ledger_folder).unwrap();
    assert_eq!(report.findings, vec![]);
    assert!(report.commits >= told as u64);
}
