//! A request that came before and cannot be judged as it was then, since what it names has changed.
//!
//! A request that can be judged needs no look here: the ledger answers it by its request id before
//! anything else.

use obvert_access::Caller;
use obvert_ledger::LedgerError;
use obvert_proto::{Problem, common::v1::Write};

use crate::{Records, Register, refusal};

impl<S: Register> Records<S> {
    /// Revision that this very request made when it came first.
    ///
    /// # Errors
    ///
    /// `REQUEST_ID_REUSED` when its id came with another body before; `problem` when it is new.
    pub(crate) async fn made_before(
        &self,
        project: &str,
        caller: &Caller,
        write: &Write,
        digest: [u8; 32],
        problem: Problem,
    ) -> Result<i64, Problem> {
        if write.validate_only {
            return Err(problem);
        }
        let (project, principal) = (project.to_owned(), caller.principal.clone());
        let found = self
            .ledger
            .replay(project, principal, write.request_id.clone())
            .await;
        match found.map_err(refusal)? {
            None => Err(problem),
            Some((revision, earlier)) if earlier == digest => Ok(revision),
            Some((revision, _)) => Err(refusal(LedgerError::RequestIdReused {
                request_id: write.request_id.clone(),
                revision,
            })),
        }
    }
}
