//! What people call a record by, as the schema marks it.

use prost::{Message, Name};
use prost_reflect::{DynamicMessage, ReflectMessage, Value};

use super::kinds;
use crate::pool;

/// Number or title by which people call a record; none where it has none of its own.
pub fn called(record: &DynamicMessage) -> Option<String> {
    let kind = kinds().get(record.descriptor().full_name())?;
    let field = kind.called_by.as_deref()?;
    match record.get_field_by_name(field)?.as_ref() {
        Value::String(text) if text.trim().is_empty() => None,
        // A title has words of its own and ends where nobody sees it.
        Value::String(title) if field == "title" => Some(format!("\"{}\"", title.trim())),
        Value::String(number) => Some(number.trim().to_owned()),
        Value::I64(number) if *number > 0 => Some(number.to_string()),
        _ => None,
    }
}

/// The same of a record of a known type.
pub fn called_of<M: Message + Name>(record: &M) -> Option<String> {
    kinds().get(&M::full_name())?.called_by.as_ref()?;
    let kind = pool().get_message_by_name(&M::full_name())?;
    let bytes = record.encode_to_vec();
    called(&DynamicMessage::decode(kind, bytes.as_slice()).ok()?)
}
