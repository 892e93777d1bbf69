//! Messages as ProtoJSON, always the same text for the same message.

use obvert_proto::{Problem, common::v1::Reason, pool};
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, Kind, MessageDescriptor, SerializeOptions};
use serde_json::{Map, Value};

/// ProtoJSON of an encoded message of a type of the schema.
pub(super) fn json_of(type_name: &str, body: &[u8]) -> Result<Value, Problem> {
    let unreadable = |what: String| {
        Problem::new(
            Reason::Internal,
            format!("a {type_name} cannot be shown as JSON: {what}"),
        )
    };
    let descriptor = pool()
        .get_message_by_name(type_name)
        .ok_or_else(|| unreadable("the schema does not have it".to_owned()))?;
    let message = DynamicMessage::decode(descriptor.clone(), body);
    let message = message.map_err(|error| unreadable(error.to_string()))?;
    let options = SerializeOptions::new()
        .skip_default_fields(true)
        .stringify_64_bit_integers(true);
    let value = message.serialize_with_options(serde_json::value::Serializer, &options);
    Ok(in_order(
        value.map_err(|error| unreadable(error.to_string()))?,
        &descriptor,
    ))
}

/// ProtoJSON of a message.
pub(super) fn json_of_message<M: Message + Name>(message: &M) -> Result<Value, Problem> {
    json_of(&M::full_name(), &message.encode_to_vec())
}

/// The text of a value, indented, with a line's end.
pub(super) fn text(value: &Value) -> Vec<u8> {
    let mut text = serde_json::to_vec_pretty(value).unwrap_or_default();
    text.push(b'\n');
    text
}

/// The same value with its maps in order of keys: in memory they have none.
fn in_order(value: Value, message: &MessageDescriptor) -> Value {
    let Value::Object(fields) = value else {
        return value;
    };
    let mut ordered = Map::new();
    for (name, value) in fields {
        let field = message.get_field_by_json_name(&name);
        let value = match field {
            Some(field) if field.is_map() => sorted(value),
            Some(field) => match (field.kind(), value) {
                (Kind::Message(inner), Value::Array(values)) => values
                    .into_iter()
                    .map(|value| in_order(value, &inner))
                    .collect(),
                (Kind::Message(inner), value) => in_order(value, &inner),
                (_, value) => value,
            },
            None => value,
        };
        ordered.insert(name, value);
    }
    Value::Object(ordered)
}

/// Maps of the schema hold texts and numbers, so one level is enough.
fn sorted(value: Value) -> Value {
    let Value::Object(fields) = value else {
        return value;
    };
    let mut fields: Vec<_> = fields.into_iter().collect();
    fields.sort_by(|a, b| a.0.cmp(&b.0));
    Value::Object(fields.into_iter().collect())
}
