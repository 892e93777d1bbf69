//! Watch: the commits of a project as they come, with a heartbeat.

use std::time::Duration;

use crate::{Answers, Records, Register, refusal};
use futures::stream;
use obvert_access::{Action, Caller};
use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    common::v1::{Commit, WatchRecordsRequest},
    dates::unix_ms,
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
        caller.may(Action::Read, &request.project)?;
        let ticks = self.ledger.watch();
        let start = (
            self.clone(),
            request.project,
            request.after_revision.max(0),
            ticks,
        );
        let touched =
            stream::try_unfold(start, |(records, project, after, mut ticks)| async move {
                let quiet = tokio::time::sleep(HEARTBEAT);
                tokio::pin!(quiet);
                loop {
                    ticks.borrow_and_update();
                    let commits = records.ledger.commits(project.clone(), after, BATCH).await;
                    if let Some(commit) = commits.map_err(refusal)?.first() {
                        let touched = records.touched(commit)?;
                        let after = touched.revision;
                        return Ok(Some((touched, (records, project, after, ticks))));
                    }
                    tokio::select! {
                        changed = ticks.changed() => if changed.is_err() { return Ok(None) },
                        () = &mut quiet => {
                            let beat = Touched { revision: after, records: Vec::new() };
                            return Ok(Some((beat, (records, project, after, ticks))));
                        }
                    }
                }
            });
        Ok(Box::pin(touched))
    }

    fn touched(&self, commit: &Commit) -> Result<Touched<S::Record>, Problem> {
        let kept = commit
            .entries
            .iter()
            .filter(|e| self.kinds.by_type(&e.type_name).is_some());
        let caller = commit.caller.clone().unwrap_or_default();
        let records = kept.map(|entry| {
            self.answer(&Stored {
                name: entry.name.clone(),
                revision: commit.revision,
                create_revision: 0,
                type_name: entry.type_name.clone(),
                body: entry.body.clone(),
                refers: Vec::new(),
                claims: Vec::new(),
                commit_time_ms: commit.commit_time.as_ref().map_or(0, unix_ms),
                observed_time_ms: commit.observed_time.as_ref().map(unix_ms),
                caller: obvert_ledger::Caller {
                    principal: caller.principal.clone(),
                    role: caller.role.clone(),
                    key_id: caller.key_id.clone(),
                },
                reason: commit.reason.clone(),
            })
        });
        Ok(Touched {
            revision: commit.revision,
            records: records.collect::<Result<_, _>>()?,
        })
    }
}
