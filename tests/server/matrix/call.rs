//! Any RPC by its path, and a request for it made from its descriptor.

use bytes::Bytes;
use obvert_proto::pool;
use prost::Message;
use prost_reflect::{DynamicMessage, MethodDescriptor, Value};
use tonic::{Request, Status, client::Grpc, codegen::http::uri::PathAndQuery, transport::Channel};

use crate::fuzz::service_face::Raw;

/// Fields that name one record.
const NAMES: [&str; 6] = ["name", "segment", "parcel", "paper", "link", "target"];

/// Calls an RPC with one message; an RPC of any form answers, or says why not.
pub(super) async fn call(
    channel: &Channel,
    key: &str,
    path: &str,
    message: &DynamicMessage,
) -> Result<(), Status> {
    let mut client = Grpc::new(channel.clone());
    client.ready().await.expect("the server answers");
    let body = Bytes::from(message.encode_to_vec());
    let mut request = Request::new(tokio_stream::once(body));
    let bearer = format!("Bearer {key}").parse().expect("a key is ASCII");
    request.metadata_mut().insert("authorization", bearer);
    let path = PathAndQuery::try_from(path.to_owned()).expect("a path");
    client.streaming(request, path, Raw).await.map(drop)
}

/// Method of an RPC's path.
pub(super) fn method(path: &str) -> Option<MethodDescriptor> {
    let (service, name) = path.trim_start_matches('/').split_once('/')?;
    let service = pool().get_service_by_name(service)?;
    service.methods().find(|method| method.name() == name)
}

/// Whether a request of the method addresses one record by its name.
pub(super) fn names_one(method: &MethodDescriptor) -> bool {
    let input = method.input();
    NAMES
        .iter()
        .any(|name| input.get_field_by_name(name).is_some())
}

/// A request that names a project, a record of a collection in it, and nothing else: a caller who
/// may ask is told what is missing, one who may not is told that.
pub(super) fn asking(
    method: &MethodDescriptor,
    project: &str,
    collection: &str,
    id: &str,
) -> DynamicMessage {
    let mut message = DynamicMessage::new(method.input());
    fill(&mut message, project, collection, id);
    message
}

fn fill(message: &mut DynamicMessage, project: &str, collection: &str, id: &str) {
    let descriptor = prost_reflect::ReflectMessage::descriptor(message);
    for field in descriptor.fields() {
        let value = match field.name() {
            "project" => Value::String(project.to_owned()),
            "collection" => Value::String(collection.to_owned()),
            name if NAMES.contains(&name) => {
                Value::String(format!("projects/{project}/{collection}/{id}"))
            }
            "header" | "record" => {
                let inner = field.kind().as_message().expect("a message").clone();
                let mut inner = DynamicMessage::new(inner);
                match field.name() {
                    "record" => body(&mut inner, collection),
                    _ => fill(&mut inner, project, collection, id),
                }
                Value::Message(inner)
            }
            _ => continue,
        };
        message.set_field(&field, value);
    }
}

/// Fills a `Record` with an empty body of a collection's kind.
fn body(record: &mut DynamicMessage, collection: &str) {
    let descriptor = prost_reflect::ReflectMessage::descriptor(record);
    for field in descriptor.fields() {
        let Some(kind) = field.kind().as_message().cloned() else {
            continue;
        };
        let kept = obvert_proto::rules::kinds().get(kind.full_name());
        if kept.is_some_and(|kept| kept.collection == collection) {
            record.set_field(&field, Value::Message(DynamicMessage::new(kind)));
        }
    }
}
