//! The RPCs. Clock and random bytes are read here, and passed on as values.

pub(crate) mod access;
pub(crate) mod attachments;
pub(crate) mod papers;
pub(crate) mod register;

use obvert_proto::{Problem, common::v1::Reason};

/// Random bytes of the operating system.
fn random<const N: usize>() -> Result<[u8; N], Problem> {
    let mut bytes = [0; N];
    let filled = getrandom::fill(&mut bytes);
    filled.map_err(|error| {
        Problem::new(
            Reason::Internal,
            format!("the system gave no random bytes: {error}"),
        )
    })?;
    Ok(bytes)
}
