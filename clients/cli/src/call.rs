//! Calls by reflection: a request made from fields, an answer read as a message.

use futures::Stream;
use prost_reflect::{DynamicMessage, MethodDescriptor, ReflectMessage, Value};
use tonic::{Request, client::Grpc, codegen::http::uri::PathAndQuery};

use crate::{Exit, Failure, connection::Keyed, dynamic::DynamicCodec};

/// Calls one unary method.
pub(crate) async fn unary(
    channel: &Keyed,
    method: &MethodDescriptor,
    request: DynamicMessage,
) -> Result<DynamicMessage, Failure> {
    let mut client = ready(channel).await?;
    let codec = DynamicCodec {
        answer: method.output(),
    };
    let answer = client
        .unary(Request::new(request), path(method)?, codec)
        .await?;
    Ok(answer.into_inner())
}

/// Calls one method that takes a stream and answers once.
pub(crate) async fn upload(
    channel: &Keyed,
    method: &MethodDescriptor,
    requests: impl Stream<Item = DynamicMessage> + Send + 'static,
) -> Result<DynamicMessage, Failure> {
    let mut client = ready(channel).await?;
    let codec = DynamicCodec {
        answer: method.output(),
    };
    let answer = client
        .client_streaming(Request::new(requests), path(method)?, codec)
        .await?;
    Ok(answer.into_inner())
}

/// A message with some fields set; fields the message does not have are a fault of this program.
pub(crate) fn message(
    mut message: DynamicMessage,
    fields: impl IntoIterator<Item = (&'static str, Value)>,
) -> DynamicMessage {
    for (name, value) in fields {
        debug_assert!(
            message.descriptor().get_field_by_name(name).is_some(),
            "{name}"
        );
        let _ = message.try_set_field_by_name(name, value);
    }
    message
}

async fn ready(channel: &Keyed) -> Result<Grpc<Keyed>, Failure> {
    let mut client = Grpc::new(channel.clone()).max_decoding_message_size(16 << 20);
    client
        .ready()
        .await
        .map_err(|error| Failure::new(Exit::Unavailable, error.to_string()))?;
    Ok(client)
}

fn path(method: &MethodDescriptor) -> Result<PathAndQuery, Failure> {
    let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
    PathAndQuery::try_from(path).map_err(|error| Failure::new(Exit::Failure, error.to_string()))
}
