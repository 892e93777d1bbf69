//! What a plug-in did wrong, in words.

use std::time::Duration;

use tonic::{Code, Status};

/// Characters that are repeated of what a plug-in says.
const REPEATED: usize = 300;

/// Why there is no answer that can be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Kebab-case word, such as `late`.
    pub word: &'static str,
    /// One sentence that names the plug-in and what to do.
    pub message: String,
}

impl Fault {
    pub(crate) fn new(word: &'static str, message: impl Into<String>) -> Self {
        let message = message.into();
        Self { word, message }
    }

    pub(crate) fn late(id: &str, deadline: Duration) -> Self {
        let seconds = deadline.as_secs_f64();
        let message = format!(
            "the plug-in {id} did not answer within {seconds} s: look at its log, or raise its \
             deadline_s"
        );
        Self::new("late", message)
    }

    /// An answer that breaks the contract.
    pub(crate) fn broken(id: &str, what: impl std::fmt::Display) -> Self {
        let message = format!("the plug-in {id} {what}: have its author run 'obvert plugin check'");
        Self::new("breaks-contract", message)
    }

    /// What a call ended with.
    pub(crate) fn of(id: &str, service: &str, status: &Status) -> Self {
        let said = repeated(status.message());
        match status.code() {
            Code::Unavailable => Self::new(
                "unreachable",
                format!("the plug-in {id} cannot be reached: start it ({said})"),
            ),
            Code::Unimplemented => Self::new(
                "not-served",
                format!(
                    "the plug-in {id} does not serve obvert.plugin.v1.{service}: it is of another \
                     kind, or written for another version of the contract"
                ),
            ),
            Code::OutOfRange if said.contains("length") => Self::new(
                "too-large",
                format!("the plug-in {id} answered more than its answer_bytes allow ({said})"),
            ),
            Code::Internal if said.contains("decode") => {
                Self::broken(id, "answered bytes that are no message of the contract")
            }
            Code::InvalidArgument => Self::new(
                "refused",
                format!("the plug-in {id} refused what it was sent: {said}"),
            ),
            code => Self::new(
                "failed",
                format!("the plug-in {id} failed ({code:?}: {said}): look at its log"),
            ),
        }
    }
}

/// What a plug-in said, without control characters and cut to a length that can be shown.
pub(crate) fn repeated(text: &str) -> String {
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    text.chars().map(plain).take(REPEATED).collect()
}
