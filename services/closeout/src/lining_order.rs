//! The order in which a project's segments were lined, which some plans sample by.

use std::{
    collections::{HashMap, hash_map::Entry},
    sync::Arc,
};

use obvert_ledger::{Ledger, Stored};
use obvert_proto::{Problem, installation::v1::Run};
use obvert_records::refusal;
use prost::Message;

/// Runs listed at once.
const RUNS: usize = 500;

/// Turn of each segment in the order in which runs were first filed: the ledger's own order, so that
/// no later record changes it. Clones share it.
#[derive(Debug, Clone, Default)]
pub struct LiningOrder(Arc<HashMap<String, usize>>);

impl LiningOrder {
    /// Order of a project's runs.
    pub fn of_runs(runs: &[Stored]) -> Self {
        let mut runs: Vec<_> = runs.iter().collect();
        runs.sort_by_key(|run| run.create_revision);
        let read = runs
            .iter()
            .filter_map(|run| Run::decode(run.body.clone()).ok());
        let mut turns = HashMap::new();
        for segment in read.flat_map(|run| run.segments) {
            let turn = turns.len() + 1;
            if let Entry::Vacant(new) = turns.entry(segment) {
                new.insert(turn);
            }
        }
        Self(Arc::new(turns))
    }

    /// Turn of a segment, counted from 1; none for one that no run names.
    pub fn turn(&self, segment: &str) -> Option<usize> {
        self.0.get(segment).copied()
    }

    /// Order at a revision of a project.
    ///
    /// # Errors
    ///
    /// A fault of the ledger.
    pub(crate) async fn read(ledger: &Ledger, project: &str, at: i64) -> Result<Self, Problem> {
        let (mut runs, mut after) = (Vec::new(), None);
        loop {
            let of = (project.to_owned(), "runs".to_owned());
            let page = ledger.list(of.0, of.1, after, RUNS, at).await;
            let page = page.map_err(refusal)?;
            runs.extend(page.items);
            after = page.next;
            if after.is_none() {
                return Ok(Self::of_runs(&runs));
            }
        }
    }
}
