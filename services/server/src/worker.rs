//! `obvertd worker`: typesets in a process of its own, within limits.

use std::time::Duration;

use obvert_typeset::{ChildLimits, Children, Typesetter};
use rustix::process::{Resource, Rlimit, setrlimit};

use crate::{Ended, Exit, Limits};

/// Answers documents until standard input closes.
pub(crate) fn run(memory_bytes: u64) -> Result<(), Ended> {
    let failed = |error: std::io::Error| Ended::new(Exit::Failure, format!("worker: {error}"));
    let most = Rlimit {
        current: Some(memory_bytes),
        maximum: Some(memory_bytes),
    };
    setrlimit(Resource::As, most).map_err(|error| failed(error.into()))?;
    obvert_typeset::serve(std::io::stdin().lock(), std::io::stdout().lock()).map_err(failed)
}

/// The server's typesetter: this program again, as `worker`.
pub(crate) fn typesetter(limits: &Limits) -> Result<Typesetter, Ended> {
    let program = std::env::current_exe()
        .map_err(|error| Ended::new(Exit::Failure, format!("own path: {error}")))?;
    let limits = ChildLimits {
        deadline: Duration::from_secs(limits.typeset_deadline_s),
        memory_bytes: limits.typeset_memory_bytes,
        pdf_bytes: limits.document_bytes as usize,
    };
    Ok(Typesetter::Children(Children::new(program, limits)))
}
