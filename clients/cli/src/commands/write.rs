//! The write envelope from the command line.

use clap::ArgMatches;
use obvert_proto::common::v1::Write;
use prost::Name;
use prost_reflect::{DynamicMessage, ReflectMessage, Value};
use uuid::Uuid;

use super::text;

/// Envelope of a writing command. A request id that was not given is made up.
pub(crate) fn envelope(given: &ArgMatches) -> Write {
    let request_id = match text(given, "request-id") {
        "" => format!("cli-{}", Uuid::now_v7()),
        id => id.to_owned(),
    };
    let validate_only = given.get_flag("validate-only");
    let reason = text(given, "reason").to_owned();
    Write {
        request_id,
        reason,
        validate_only,
        ..Write::default()
    }
}

/// The envelope as a field value of a message known only by its descriptor.
pub(crate) fn value(write: &Write) -> Value {
    let descriptor = obvert_proto::pool().get_message_by_name(&Write::full_name());
    let mut message = descriptor.map(DynamicMessage::new);
    if let Some(message) = &mut message {
        let _ = message.transcode_from(write);
    }
    message.map_or(Value::Bool(false), |message| {
        debug_assert_eq!(message.descriptor().name(), "Write");
        Value::Message(message)
    })
}
