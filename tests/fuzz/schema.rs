//! Requests filled from the schema, one for each RPC.

use obvert_proto::pool;
use prost::Message;
use prost_reflect::{
    DynamicMessage, FieldDescriptor, Kind, MapKey, MessageDescriptor, MethodDescriptor, Value,
};

/// Messages within messages are filled so deep.
const DEPTH: u32 = 6;

/// Every RPC of the schema.
pub(crate) fn methods() -> Vec<MethodDescriptor> {
    let services = pool().services();
    services
        .flat_map(|service| service.methods().collect::<Vec<_>>())
        .collect()
}

/// Path of an RPC.
pub(crate) fn path(method: &MethodDescriptor) -> String {
    format!("/{}/{}", method.parent_service().full_name(), method.name())
}

/// A request with every field set; of a choice, `choice` says which.
pub(crate) fn filled(message: &MessageDescriptor, choice: usize, text: &str) -> Vec<u8> {
    fill(message, choice, text, DEPTH).encode_to_vec()
}

/// A message with every field set, its texts to one text.
pub(crate) fn fill(
    message: &MessageDescriptor,
    choice: usize,
    text: &str,
    depth: u32,
) -> DynamicMessage {
    let mut filled = DynamicMessage::new(message.clone());
    for field in message.fields() {
        let chosen = field.containing_oneof().is_none_or(|one| {
            let place = one.fields().position(|f| f == field);
            one.is_synthetic() || place == Some(choice % one.fields().len())
        });
        let deep = matches!(field.kind(), Kind::Message(_)) && depth == 0;
        if chosen && !deep {
            filled.set_field(&field, value(&field, choice, text, depth));
        }
    }
    filled
}

fn value(field: &FieldDescriptor, choice: usize, text: &str, depth: u32) -> Value {
    if field.is_map() {
        let Kind::Message(entry) = field.kind() else {
            return Value::Map(Default::default());
        };
        let of = single(&entry.map_entry_value_field(), choice, text, depth);
        return Value::Map([(MapKey::String(text.to_owned()), of)].into());
    }
    let one = single(field, choice, text, depth);
    if field.is_list() {
        Value::List(vec![one])
    } else {
        one
    }
}

fn single(field: &FieldDescriptor, choice: usize, text: &str, depth: u32) -> Value {
    match field.kind() {
        Kind::Message(message) => {
            Value::Message(fill(&message, choice, text, depth.saturating_sub(1)))
        }
        Kind::Enum(_) => Value::EnumNumber(1),
        Kind::String => Value::String(text.to_owned()),
        Kind::Bytes => Value::Bytes(text.as_bytes().to_vec().into()),
        Kind::Bool => Value::Bool(true),
        Kind::Double => Value::F64(1.5),
        Kind::Float => Value::F32(1.5),
        Kind::Int32 | Kind::Sint32 | Kind::Sfixed32 => Value::I32(1),
        Kind::Int64 | Kind::Sint64 | Kind::Sfixed64 => Value::I64(1),
        Kind::Uint32 | Kind::Fixed32 => Value::U32(1),
        Kind::Uint64 | Kind::Fixed64 => Value::U64(1),
    }
}
