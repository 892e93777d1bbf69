//! Random commits, compared after each step with a model that keeps every state in memory.

use super::support::{PROJECT, close, config, draft, entry, expect, name, run};
use crate::campaign::rounds;
use obvert_ledger::{Draft, Expect, Ledger, LedgerError, Stored};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use tempfile::tempdir;

const RECORDS: [&str; 6] = [
    "segments/a",
    "segments/ab",
    "segments/b",
    "liners/a",
    "liners/b",
    "samples/a",
];
const CLAIMS: [&str; 3] = ["serial/1", "serial/2", "pair/m1-m2"];

#[derive(Clone, Debug)]
struct Step {
    entries: Vec<(usize, Vec<usize>, Vec<usize>)>,
    asserts: Vec<(usize, i64)>,
    request: usize,
    digest: u8,
    reopen: bool,
}

fn step() -> impl Strategy<Value = Step> {
    let some = |of: usize| proptest::collection::vec(0..of, 0..3);
    let entry = (0..RECORDS.len(), some(RECORDS.len()), some(CLAIMS.len()));
    let entries = proptest::collection::vec(entry, 1..3);
    let asserts = proptest::collection::vec((0..RECORDS.len(), -2i64..6), 0..2);
    (
        entries,
        asserts,
        0usize..12,
        0u8..2,
        proptest::bool::weighted(0.04),
    )
        .prop_map(|(mut entries, asserts, request, digest, reopen)| {
            let mut seen = BTreeSet::new();
            entries.retain(|(record, ..)| seen.insert(*record));
            Step {
                entries,
                asserts,
                request,
                digest,
                reopen,
            }
        })
}

/// One state of a record, as the model keeps it.
#[derive(Clone, Debug, PartialEq)]
struct State {
    revision: i64,
    body: String,
    refers: BTreeSet<String>,
    claims: BTreeSet<String>,
}

#[derive(Default)]
struct Model {
    revision: i64,
    records: BTreeMap<String, Vec<State>>,
    requests: BTreeMap<String, ([u8; 32], i64)>,
}

impl Model {
    fn latest(&self, name: &str) -> Option<&State> {
        self.records.get(name).and_then(|states| states.last())
    }

    fn at(&self, name: &str, at: i64) -> Option<&State> {
        self.records
            .get(name)?
            .iter()
            .rev()
            .find(|state| state.revision <= at)
    }

    /// The word for what a commit must answer, and its revision.
    fn commit(&mut self, draft: &Draft) -> (&'static str, i64) {
        if let Some((digest, revision)) = self.requests.get(&draft.request_id) {
            let same = *digest == draft.request_digest;
            return (if same { "replayed" } else { "reused" }, *revision);
        }
        for assert in &draft.asserts {
            let found = self.latest(&assert.name).map(|state| state.revision);
            match (&assert.expect, found) {
                (Expect::Absent, Some(revision)) => return ("exists", revision),
                (Expect::Present, None) => return ("not found", 0),
                (Expect::Revision(wanted), found) if found != Some(*wanted) => {
                    return ("stale", found.unwrap_or(0));
                }
                _ => {}
            }
        }
        let mut holders = BTreeMap::new();
        for (name, states) in &self.records {
            if !draft.entries.iter().any(|entry| entry.name == *name) {
                let claims = states.last().into_iter().flat_map(|state| &state.claims);
                holders.extend(claims.map(|claim| (claim.clone(), name.clone())));
            }
        }
        for entry in &draft.entries {
            for claim in entry.claims.iter().collect::<BTreeSet<_>>() {
                if holders.insert(claim.clone(), entry.name.clone()).is_some() {
                    return ("claim taken", 0);
                }
            }
        }
        self.revision += 1;
        for entry in &draft.entries {
            self.records
                .entry(entry.name.clone())
                .or_default()
                .push(State {
                    revision: self.revision,
                    body: String::from_utf8(entry.body.to_vec()).unwrap(),
                    refers: entry.refers.iter().cloned().collect(),
                    claims: entry.claims.iter().cloned().collect(),
                });
        }
        if !draft.request_id.is_empty() {
            let answer = (draft.request_digest, self.revision);
            self.requests.insert(draft.request_id.clone(), answer);
        }
        ("committed", self.revision)
    }
}

fn to_draft(number: usize, step: &Step) -> Draft {
    let entries = step.entries.iter().map(|(record, refers, claims)| {
        let refers: Vec<_> = refers.iter().map(|&record| RECORDS[record]).collect();
        let claims: Vec<_> = claims.iter().map(|&claim| CLAIMS[claim]).collect();
        entry(
            RECORDS[*record],
            &format!("body {number}"),
            &refers,
            &claims,
        )
    });
    let mut draft = draft(entries.collect());
    draft.asserts = step
        .asserts
        .iter()
        .map(|&(record, wanted)| {
            let wanted = match wanted {
                -2 => Expect::Absent,
                -1 => Expect::Present,
                revision => Expect::Revision(revision),
            };
            expect(RECORDS[record], wanted)
        })
        .collect();
    if step.request > 3 {
        draft.request_id = format!("r-{}", step.request);
        draft.request_digest = [step.digest; 32];
    }
    draft
}

fn word(answer: Result<obvert_ledger::Committed, LedgerError>) -> (&'static str, i64) {
    match answer {
        Ok(committed) if committed.replayed => ("replayed", committed.revision),
        Ok(committed) => ("committed", committed.revision),
        Err(LedgerError::Exists { revision, .. }) => ("exists", revision),
        Err(LedgerError::NotFound { .. }) => ("not found", 0),
        Err(LedgerError::Stale { found, .. }) => ("stale", found),
        Err(LedgerError::ClaimTaken { .. }) => ("claim taken", 0),
        Err(LedgerError::RequestIdReused { revision, .. }) => ("reused", revision),
        Err(other) => panic!("{other}"),
    }
}

fn state(stored: &Stored) -> State {
    State {
        revision: stored.revision,
        body: String::from_utf8(stored.body.to_vec()).unwrap(),
        refers: stored.refers.iter().cloned().collect(),
        claims: stored.claims.iter().cloned().collect(),
    }
}

/// Every read at every revision gives what the model gives.
async fn compare(ledger: &Ledger, model: &Model) {
    for at in 0..=model.revision {
        let moment = if at == 0 { model.revision } else { at };
        for record in RECORDS.map(name) {
            let found = ledger.get(record.clone(), at).await.unwrap();
            assert_eq!(
                found.as_ref().map(state).as_ref(),
                model.at(&record, moment),
                "{record}@{at}"
            );
            let expected: Vec<String> = RECORDS
                .map(name)
                .into_iter()
                .filter(|source| {
                    model
                        .at(source, moment)
                        .is_some_and(|state| state.refers.contains(&record))
                })
                .collect();
            let found = paged_referrers(ledger, &record, at).await;
            assert_eq!(found, sorted(expected), "referrers of {record}@{at}");
            let collections = &["segments", "liners", "samples"];
            let found = ledger.former_referrers(vec![record.clone()], collections, at);
            let found: Vec<_> = found.await.unwrap().iter().map(state).collect();
            let expected = former(model, &record, moment);
            assert_eq!(found, expected, "former referrers of {record}@{at}");
        }
        for collection in ["segments", "liners", "samples"] {
            let prefix = name(&format!("{collection}/"));
            let expected: Vec<String> = model
                .records
                .keys()
                .filter(|name| name.starts_with(&prefix) && model.at(name, moment).is_some())
                .cloned()
                .collect();
            assert_eq!(
                paged_list(ledger, collection, at).await,
                expected,
                "{collection}@{at}"
            );
        }
    }
    for (record, states) in &model.records {
        let page = ledger.history(record.clone(), 0, 1000).await.unwrap();
        assert_eq!(
            page.items.iter().map(state).collect::<Vec<_>>(),
            *states,
            "history {record}"
        );
        assert!(
            page.items
                .iter()
                .all(|item| item.create_revision == states[0].revision)
        );
    }
    assert_eq!(
        ledger.head(PROJECT.into()).await.unwrap().revision,
        model.revision
    );
}

/// States that gave up a reference to a record, of those that do not refer to it at a moment.
fn former(model: &Model, record: &String, moment: i64) -> Vec<State> {
    let mut left = Vec::new();
    for states in model.records.values() {
        let known = states.iter().filter(|state| state.revision <= moment);
        let known: Vec<_> = known.collect();
        let refers = |state: &State| state.refers.contains(record);
        let mut gave_up = known
            .windows(2)
            .filter(|two| refers(two[0]) && !refers(two[1]));
        let last = known.last().is_some_and(|last| refers(last));
        left.extend(
            gave_up
                .next_back()
                .filter(|_| !last)
                .map(|two| two[1].clone()),
        );
    }
    left
}

fn sorted(mut names: Vec<String>) -> Vec<String> {
    names.sort();
    names
}

async fn paged_list(ledger: &Ledger, collection: &str, at: i64) -> Vec<String> {
    let (mut names, mut after) = (Vec::new(), None);
    loop {
        let page = ledger
            .list(PROJECT.into(), collection.into(), after, 2, at)
            .await
            .unwrap();
        names.extend(page.items.into_iter().map(|item| item.name));
        after = page.next;
        if after.is_none() {
            return names;
        }
    }
}

async fn paged_referrers(ledger: &Ledger, target: &str, at: i64) -> Vec<String> {
    let (mut names, mut after) = (Vec::new(), None);
    loop {
        let page = ledger
            .referrers(target.into(), None, after, 2, at)
            .await
            .unwrap();
        names.extend(page.items.into_iter().map(|item| item.name));
        after = page.next;
        if after.is_none() {
            return names;
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: rounds(24, 1_000),
        failure_persistence: None,
        ..Default::default()
    })]

    #[test]
    fn random_commits_and_reads_answer_as_the_model_does(
        steps in proptest::collection::vec(step(), 1..40),
    ) {
        run(async {
            let folder = tempdir().unwrap();
            let mut ledger = Ledger::open(config(folder.path())).await.unwrap();
            let mut model = Model::default();
            for (number, step) in steps.iter().enumerate() {
                let draft = to_draft(number, step);
                let expected = model.commit(&draft);
                assert_eq!(word(ledger.commit(draft).await), expected, "step {number}");
                if step.reopen {
                    close(ledger).await;
                    ledger = Ledger::open(config(folder.path())).await.unwrap();
                }
            }
            compare(&ledger, &model).await;
            close(ledger).await;
            std::fs::remove_dir_all(folder.path().join("index")).unwrap();
            let ledger = Ledger::open(config(folder.path())).await.unwrap();
            compare(&ledger, &model).await;
            close(ledger).await;
        });
    }
}
