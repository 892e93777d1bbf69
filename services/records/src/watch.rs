//! Watch: the commits of a project as they come, with a heartbeat.

use std::time::Duration;

use crate::{Answers, Records, Register, own::Reach, refusal};
use futures::stream;
use obvert_access::Caller;
use obvert_proto::{
    Problem,
    common::v1::{Commit, WatchRecordsRequest},
};

/// A silent stream says this often that it lives.
const HEARTBEAT: Duration = Duration::from_secs(20);
/// Commits read at once.
const BATCH: usize = 100;

/// Records of one commit, or none for a heartbeat.
pub struct Touched<R> {
    /// Revision up to which everything was sent.
    pub revision: i64,
    /// Records of that commit that this service keeps.
    pub records: Vec<R>,
}

impl<S: Register> Records<S> {
    /// Streams this service's records as they are committed, from a revision on.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`. A fault of the ledger ends the stream with a status.
    pub fn watch(
        &self,
        caller: &Caller,
        request: WatchRecordsRequest,
    ) -> Result<Answers<Touched<S::Record>>, Problem> {
        let reach = Reach::of(caller, &request.project)?;
        let ticks = self.ledger.watch();
        let start = (
            (self.clone(), reach),
            request.project,
            request.after_revision.max(0),
            ticks,
        );
        let touched = stream::try_unfold(
            start,
            |(reader, project, mut after, mut ticks)| async move {
                let (records, reach) = &reader;
                let quiet = tokio::time::sleep(HEARTBEAT);
                tokio::pin!(quiet);
                loop {
                    ticks.borrow_and_update();
                    let commits = records.ledger.commits(project.clone(), after, BATCH).await;
                    if let Some(commit) = commits.map_err(refusal)?.first() {
                        let touched = records.touched(reach, commit).await?;
                        after = touched.revision;
                        // A commit of others says nothing to who reads only its own.
                        if touched.records.is_empty() && reach.is_bounded() {
                            continue;
                        }
                        return Ok(Some((touched, (reader, project, after, ticks))));
                    }
                    tokio::select! {
                        changed = ticks.changed() => if changed.is_err() { return Ok(None) },
                        () = &mut quiet => {
                            let beat = Touched { revision: after, records: Vec::new() };
                            return Ok(Some((beat, (reader, project, after, ticks))));
                        }
                    }
                }
            },
        );
        Ok(Box::pin(touched))
    }

    async fn touched(&self, reach: &Reach, commit: &Commit) -> Result<Touched<S::Record>, Problem> {
        let kept = commit
            .entries
            .iter()
            .filter(|e| self.kinds.by_type(&e.type_name).is_some());
        let names: Vec<_> = kept.map(|entry| entry.name.clone()).collect();
        let stored = self.ledger.get_many(names, commit.revision).await;
        let mut records = Vec::new();
        for stored in stored.map_err(refusal)? {
            if reach.holds(&self.ledger, &stored).await? {
                records.push(self.shown(reach, &stored).await?);
            }
        }
        Ok(Touched {
            revision: commit.revision,
            records,
        })
    }
}
