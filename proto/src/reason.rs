//! The one match from a reason to its gRPC code and its word.

use tonic::Code;

use crate::common::v1::Reason;

/// Code that a reason travels under.
pub(crate) fn code(reason: Reason) -> Code {
    match reason {
        Reason::FieldsInvalid
        | Reason::TableInvalid
        | Reason::PlanInvalid
        | Reason::UploadIncomplete => Code::InvalidArgument,
        Reason::RecordExists | Reason::ClaimTaken | Reason::RequestIdReused => Code::AlreadyExists,
        Reason::RecordNotFound => Code::NotFound,
        Reason::EtagStale => Code::Aborted,
        Reason::NotAuthenticated => Code::Unauthenticated,
        Reason::NotAllowed => Code::PermissionDenied,
        Reason::PointsHeld | Reason::ActRefused | Reason::PluginFailed => Code::FailedPrecondition,
        Reason::DiskFull | Reason::TooLarge => Code::ResourceExhausted,
        Reason::Overloaded | Reason::ShuttingDown | Reason::StorePoisoned => Code::Unavailable,
        Reason::StoreCorrupt => Code::DataLoss,
        Reason::Internal | Reason::Unspecified => Code::Internal,
    }
}

/// Reason without its prefix, such as `ETAG_STALE`: the form that travels in `ErrorInfo` and names
/// the page in `proto/reasons`.
pub fn reason_word(reason: Reason) -> &'static str {
    reason.as_str_name().trim_start_matches("REASON_")
}
