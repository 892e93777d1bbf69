//! Points of many segments: all of them, and again after one commit.
//!
//! The ceiling of an evaluation is its reading: the ledger's snapshot of each segment, which gathers
//! the same records and judges nothing. What follows a commit is held against evaluating all.

use std::{
    path::Path,
    process::{Command, Stdio},
    time::Instant,
};

use obvert_closeout::{Moment, Statuses, plan::parse};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::project::v1::Document;
use tempfile::TempDir;

use crate::{
    closeout::fixture::{
        Fixture, SEGMENT,
        asked::{STRICT, clean_under},
        full, many, store,
    },
    pairs::{median, say},
};

/// First word of the command line that makes this program a process that evaluates a store.
pub(crate) const ROLE: &str = "evaluates-a-store";

/// Segments of the largest project, as many as a large contract has.
const SEGMENTS: usize = 1_000;
/// Times that each figure is measured.
const TIMES: usize = 3;

/// Measures and prints.
pub(crate) async fn measure() {
    let points = parse(STRICT).expect("the plan").points.len();
    let folder = filled(SEGMENTS).await;
    let ledger = opened(folder.path()).await;
    let (mut all, mut read, mut one) = (Vec::new(), Vec::new(), Vec::new());
    for time in 0..TIMES {
        read.push(seconds(async || snapshots(&ledger, SEGMENTS).await).await);
        let statuses = Statuses::new(ledger.clone());
        all.push(seconds(async || evaluated(&statuses, SEGMENTS).await).await);
        let made = statuses.evaluation_count();
        touch(&ledger, time).await;
        one.push(seconds(async || evaluated(&statuses, SEGMENTS).await).await);
        let again = statuses.evaluation_count() - made;
        assert_eq!(again, 1, "a commit about one segment");
    }
    ledger.close().await;
    let (all, read, one) = (median(&mut all), median(&mut read), median(&mut one));
    say("");
    say("| seconds, median of 3 | obvertd | beside | ratio |");
    say("| --- | --- | --- | --- |");
    say(&format!(
        "| {SEGMENTS} segments x {points} points, beside reading their records | {all:.2} | {read:.2} \
         | {:.1} times |",
        all / read
    ));
    say(&format!(
        "| the same again after one commit, beside evaluating all | {one:.4} | {all:.2} | {:.0} times \
         less |",
        all / one
    ));
    memory().await;
}

/// Memory of a process that evaluates and keeps 10, 100 and 1,000 segments.
async fn memory() {
    say("");
    say("| segments evaluated and kept | MiB before | MiB at most | kB a segment |");
    say("| --- | --- | --- | --- |");
    for segments in [10, 100, SEGMENTS] {
        let folder = filled(segments).await;
        let program = std::env::current_exe().expect("this program has a path");
        let out = Command::new(program)
            .arg(ROLE)
            .arg(folder.path())
            .arg(segments.to_string())
            .stdout(Stdio::piped())
            .output()
            .expect("it runs");
        let out = String::from_utf8(out.stdout).expect("two numbers");
        let kb: Vec<f64> = out
            .split_whitespace()
            .filter_map(|n| n.parse().ok())
            .collect();
        let (before, most) = (kb[0], kb[1]);
        say(&format!(
            "| {segments} | {:.0} | {:.0} | {:.0} |",
            before / 1_024.0,
            most / 1_024.0,
            (most - before) / segments as f64
        ));
    }
}

/// Evaluates a store in this process and prints its memory before and at most, in kB.
pub(crate) async fn evaluate_and_print(folder: &Path, segments: usize) {
    let ledger = opened(folder).await;
    let before = status_kb("VmRSS");
    let statuses = Statuses::new(ledger.clone());
    evaluated(&statuses, segments).await;
    say(&format!("{before} {}", status_kb("VmHWM")));
    ledger.close().await;
}

fn status_kb(row: &str) -> u64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let found = text.lines().find_map(|line| line.strip_prefix(row));
    let figure = found.and_then(|rest| rest.split_whitespace().nth(1)?.parse().ok());
    figure.unwrap_or_default()
}

async fn filled(segments: usize) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    let ledger = opened(folder.path()).await;
    let mut fixture: Fixture = clean_under(STRICT);
    store::fill_under(&ledger, &mut fixture, STRICT).await;
    many::copy(&ledger, &fixture, segments - 1).await;
    ledger.close().await;
    folder
}

async fn opened(folder: &Path) -> Ledger {
    let ledger = Ledger::open(LedgerConfig::new(folder)).await;
    ledger.expect("the store opens")
}

async fn seconds(act: impl AsyncFnOnce()) -> f64 {
    let start = Instant::now();
    act().await;
    start.elapsed().as_secs_f64()
}

async fn snapshots(ledger: &Ledger, segments: usize) {
    for number in 0..segments {
        let taken = ledger.snapshot(many::segment(number), 0).await;
        assert!(taken.expect("a snapshot").records.len() > 20);
    }
}

async fn evaluated(statuses: &Statuses, segments: usize) {
    let now: Moment = statuses.now("quillfern").await.expect("a head");
    for number in 0..segments {
        let status = statuses.kept_at(&many::segment(number), now).await;
        assert!(!status.expect("a status").points.is_empty());
    }
}

/// One commit about one segment.
async fn touch(ledger: &Ledger, time: usize) {
    let paper = Document {
        evidence_kind: "note".into(),
        subjects: vec![SEGMENT.into()],
        ..Document::default()
    };
    let mut fixture = Fixture::clean();
    let name = full(&format!("documents/touch-{time}"));
    fixture.put(&name, &paper);
    let stored = &fixture.records[&name];
    store::commit(ledger, "quillfern", vec![stored], fixture.time_ms).await;
}
