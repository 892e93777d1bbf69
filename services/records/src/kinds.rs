//! Which kinds of record a service keeps, read from the `body` of its `Record` message.
//!
//! On the wire, a `Record` is its meta and one tagged body. The tag is the kind and the tagged bytes
//! are the record, so a record is stored and answered without decoding it by hand.

use obvert_proto::{
    Problem, Violation,
    common::v1::{Reason, RecordMeta},
    pool,
    rules::{self, Kind},
};
use prost::{
    Message,
    bytes::{Buf, Bytes},
    encoding::{
        WireType, decode_key, decode_varint, encode_key, encode_varint, encoded_len_varint,
    },
};
use prost_reflect::MessageDescriptor;

/// Field of the meta in every `Record` message.
const META_FIELD: u32 = 1;

/// One kind a service keeps.
#[derive(Debug, Clone)]
pub struct KindEntry {
    /// Field of the body in the service's `Record`.
    pub field_number: u32,
    /// Name of that field, such as `liner_order`.
    pub field_name: String,
    /// How its records are kept.
    pub kind: Kind,
    /// Its message type.
    pub descriptor: MessageDescriptor,
}

/// All kinds a service keeps.
#[derive(Debug, Clone)]
pub struct KindTable {
    entries: Vec<KindEntry>,
}

impl KindTable {
    /// Kinds in the `body` of a service's `Record` message.
    ///
    /// # Panics
    ///
    /// When the schema has no such message or a kind without a collection: a fault of the build.
    pub fn of(record_type: &str) -> Self {
        let record = pool()
            .get_message_by_name(record_type)
            .expect("the schema has the Record");
        let body = record
            .oneofs()
            .find(|oneof| oneof.name() == "body")
            .expect("a Record has a body");
        let entries = body
            .fields()
            .map(|field| {
                let descriptor = field
                    .kind()
                    .as_message()
                    .expect("a body is a message")
                    .clone();
                let kind = rules::kinds().get(descriptor.full_name()).cloned();
                KindEntry {
                    field_number: field.number(),
                    field_name: field.name().to_owned(),
                    kind: kind.expect("a record kind states its collection"),
                    descriptor,
                }
            })
            .collect();
        Self { entries }
    }

    /// Kind of a collection.
    pub fn by_collection(&self, collection: &str) -> Option<&KindEntry> {
        self.entries
            .iter()
            .find(|entry| entry.kind.collection == collection)
    }

    /// Kind of a message type.
    pub fn by_type(&self, type_name: &str) -> Option<&KindEntry> {
        self.entries
            .iter()
            .find(|entry| entry.kind.type_name == type_name)
    }

    /// Collections, in the schema's order.
    pub fn collections(&self) -> Vec<&str> {
        let kinds = self.entries.iter();
        kinds.map(|entry| entry.kind.collection.as_str()).collect()
    }

    /// Collections, for messages.
    pub fn listed(&self) -> String {
        self.collections().join(", ")
    }

    /// Kind and encoded body of a `Record`.
    ///
    /// # Errors
    ///
    /// `FIELDS_INVALID` when the record has no body, or has meta, which only the server writes.
    pub fn split<R: Message>(&self, record: &R) -> Result<(&KindEntry, Bytes), Problem> {
        let wrong = |field: &str, text: &str| Problem::fields(vec![Violation::new(field, text)]);
        let mut bytes = Bytes::from(record.encode_to_vec());
        let mut found = None;
        while bytes.has_remaining() {
            let (number, _) =
                decode_key(&mut bytes).map_err(|_| wrong("record", "cannot be read"))?;
            let length =
                decode_varint(&mut bytes).map_err(|_| wrong("record", "cannot be read"))?;
            let body = bytes.split_to(usize::try_from(length).unwrap_or_default());
            if number == META_FIELD {
                return Err(wrong(
                    "record.meta",
                    "is written by the server only: leave it out",
                ));
            }
            found = self
                .entries
                .iter()
                .find(|e| e.field_number == number)
                .map(|e| (e, body));
        }
        found.ok_or_else(|| wrong("record.body", "is missing: fill one kind of record"))
    }

    /// `Record` made of meta and an encoded body.
    ///
    /// # Errors
    ///
    /// `STORE_CORRUPT` when the body is no message of its kind.
    pub fn join<R: Message + Default>(
        &self,
        entry: &KindEntry,
        meta: Option<&RecordMeta>,
        body: &[u8],
    ) -> Result<R, Problem> {
        let meta = meta.map(Message::encode_to_vec);
        let room =
            body.len() + meta.as_ref().map_or(0, Vec::len) + 2 * encoded_len_varint(u64::MAX) + 8;
        let mut bytes = Vec::with_capacity(room);
        let mut put = |number: u32, part: &[u8]| {
            encode_key(number, WireType::LengthDelimited, &mut bytes);
            encode_varint(part.len() as u64, &mut bytes);
            bytes.extend_from_slice(part);
        };
        if let Some(meta) = &meta {
            put(META_FIELD, meta);
        }
        put(entry.field_number, body);
        R::decode(bytes.as_slice()).map_err(|error| {
            let message = format!("a stored {} cannot be read: {error}", entry.field_name);
            Problem::new(Reason::StoreCorrupt, message)
        })
    }
}
