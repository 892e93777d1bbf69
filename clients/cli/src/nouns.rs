//! Kinds of records as nouns, read from the schema.

use obvert_proto::{comment, pool, rules};
use prost_reflect::{MessageDescriptor, MethodDescriptor, ServiceDescriptor};

/// A kind of record, and the service that keeps it.
#[derive(Debug, Clone)]
pub(crate) struct Noun {
    /// Word on the command line, such as `liner-order`.
    pub(crate) word: String,
    /// Field of the service's `Record`, such as `liner_order`.
    pub(crate) field: String,
    /// Collection in names.
    pub(crate) collection: String,
    /// Whether only an RPC of its own writes it.
    pub(crate) own_rpc: bool,
    /// Message type.
    pub(crate) message: MessageDescriptor,
    /// Service's `Record` message.
    pub(crate) record: MessageDescriptor,
    service: ServiceDescriptor,
}

impl Noun {
    /// What the schema says a record of this kind is: its first sentence, without the full stop.
    pub(crate) fn about(&self) -> &'static str {
        let text = comment(&self.message.parent_file(), self.message.path());
        let sentence = text.split_once(". ").map_or(text, |(first, _)| first);
        sentence.trim_end_matches('.')
    }

    /// One of the verbs that every service has.
    pub(crate) fn method(&self, name: &str) -> Option<MethodDescriptor> {
        self.service.methods().find(|method| method.name() == name)
    }
}

/// All kinds, in order of their words.
pub(crate) fn nouns() -> Vec<Noun> {
    let mut found = Vec::new();
    for service in pool().services() {
        let Some(create) = service
            .methods()
            .find(|method| method.name() == "CreateRecord")
        else {
            continue;
        };
        let record = create.output();
        let Some(body) = record.oneofs().find(|oneof| oneof.name() == "body") else {
            continue;
        };
        for field in body.fields() {
            let Some(message) = field.kind().as_message().cloned() else {
                continue;
            };
            let Some(kind) = rules::kinds().get(message.full_name()) else {
                continue;
            };
            found.push(Noun {
                word: field.name().replace('_', "-"),
                field: field.name().to_owned(),
                collection: kind.collection.clone(),
                own_rpc: kind.own_rpc,
                message,
                record: record.clone(),
                service: service.clone(),
            });
        }
    }
    found.sort_by(|a, b| a.word.cmp(&b.word));
    found
}

/// Noun of a word.
pub(crate) fn noun(word: &str) -> Option<Noun> {
    nouns().into_iter().find(|noun| noun.word == word)
}

/// Noun of a field of a `Record`, such as `liner_order` or `linerOrder`.
pub(crate) fn noun_of_field(field: &str) -> Option<Noun> {
    nouns().into_iter().find(|noun| {
        let json = noun.record.get_field_by_name(&noun.field);
        noun.field == field || json.is_some_and(|f| f.json_name() == field)
    })
}
