//! JSON Schema (draft 2020-12) of the record files, made from the schema's descriptors.

use std::{
    collections::{BTreeMap, HashMap},
    sync::LazyLock,
};

use obvert_proto::{pool, rules};
use prost_reflect::{EnumDescriptor, FieldDescriptor, Kind, MessageDescriptor};
use serde_json::{Map, Value, json};

use super::proto_json::text;

const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// Text of the schema of a file that holds one record of a type. The schemas are the same in every
/// package, and made once.
pub(super) fn record_schema_text(type_name: &str) -> Vec<u8> {
    static TEXTS: LazyLock<HashMap<&'static str, Vec<u8>>> = LazyLock::new(|| {
        let kinds = rules::kinds().keys();
        kinds
            .map(|kind| (kind.as_str(), text(&record_schema(kind))))
            .collect()
    });
    let made = TEXTS.get(type_name).cloned();
    made.unwrap_or_else(|| text(&record_schema(type_name)))
}

/// Schema of a file that holds one record of a type.
fn record_schema(type_name: &str) -> Value {
    let mut definitions = BTreeMap::new();
    if let Some(message) = pool().get_message_by_name(type_name) {
        define(&message, &mut definitions);
    }
    let time = || json!({"type": "string", "format": "date-time"});
    json!({
        "$schema": DIALECT,
        "title": format!("Record file of {type_name}"),
        "type": "object",
        "properties": {
            "name": {"type": "string"},
            "revision": {"type": "integer", "minimum": 1},
            "createRevision": {"type": "integer", "minimum": 1},
            "type": {"const": type_name},
            "commitTime": time(),
            "observedTime": time(),
            "principal": {"type": "string"},
            "role": {"type": "string"},
            "reason": {"type": "string"},
            "record": reference(type_name),
        },
        "required": [
            "name", "revision", "createRevision", "type", "commitTime", "principal", "role",
            "record",
        ],
        "additionalProperties": false,
        "$defs": definitions,
    })
}

/// Schema of a file that holds one message of a type and nothing besides.
pub(super) fn message_schema(type_name: &str) -> Value {
    let mut definitions = BTreeMap::new();
    if let Some(message) = pool().get_message_by_name(type_name) {
        define(&message, &mut definitions);
    }
    json!({
        "$schema": DIALECT,
        "title": format!("File of {type_name}"),
        "$ref": format!("#/$defs/{type_name}"),
        "$defs": definitions,
    })
}

fn reference(type_name: &str) -> Value {
    json!({"$ref": format!("#/$defs/{type_name}")})
}

/// Adds a message and all that it is made of.
fn define(message: &MessageDescriptor, definitions: &mut BTreeMap<String, Value>) {
    if definitions.contains_key(message.full_name()) {
        return;
    }
    definitions.insert(message.full_name().to_owned(), Value::Null);
    let mut properties = Map::new();
    for field in message.fields() {
        properties.insert(field.json_name().to_owned(), of_field(&field, definitions));
    }
    let schema = json!({"type": "object", "properties": properties, "additionalProperties": false});
    definitions.insert(message.full_name().to_owned(), schema);
}

fn of_field(field: &FieldDescriptor, definitions: &mut BTreeMap<String, Value>) -> Value {
    if field.is_map()
        && let Kind::Message(pair) = field.kind()
    {
        let value = pair.get_field_by_name("value");
        let values = value.map(|value| of_kind(&value.kind(), definitions));
        return json!({"type": "object", "additionalProperties": values});
    }
    let one = of_kind(&field.kind(), definitions);
    if field.is_list() {
        json!({"type": "array", "items": one})
    } else {
        one
    }
}

/// The forms of ProtoJSON: 64-bit integers are texts, a number that is none is a word.
fn of_kind(kind: &Kind, definitions: &mut BTreeMap<String, Value>) -> Value {
    match kind {
        Kind::Double | Kind::Float => {
            json!({"anyOf": [{"type": "number"}, {"enum": ["NaN", "Infinity", "-Infinity"]}]})
        }
        Kind::Int32 | Kind::Sint32 | Kind::Sfixed32 | Kind::Uint32 | Kind::Fixed32 => {
            json!({"type": "integer"})
        }
        Kind::Int64 | Kind::Sint64 | Kind::Sfixed64 | Kind::Uint64 | Kind::Fixed64 => {
            json!({"type": "string", "pattern": "^-?[0-9]+$"})
        }
        Kind::Bool => json!({"type": "boolean"}),
        Kind::String => json!({"type": "string"}),
        Kind::Bytes => json!({"type": "string", "contentEncoding": "base64"}),
        Kind::Enum(words) => of_enum(words),
        Kind::Message(message) if message.full_name() == "google.protobuf.Timestamp" => {
            json!({"type": "string", "format": "date-time"})
        }
        Kind::Message(message) => {
            define(message, definitions);
            reference(message.full_name())
        }
    }
}

/// A value that the schema of the day did not know is a number.
fn of_enum(words: &EnumDescriptor) -> Value {
    let words: Vec<_> = words
        .values()
        .map(|value| value.name().to_owned())
        .collect();
    json!({"anyOf": [{"enum": words}, {"type": "integer"}]})
}
