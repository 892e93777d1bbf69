//! A codec for messages known only by their descriptors.

use bytes::{Buf, BufMut};
use prost::Message;
use prost_reflect::{DynamicMessage, MessageDescriptor};
use tonic::{
    Status,
    codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder},
};

/// Codec whose answers are of one message type.
#[derive(Clone)]
pub(crate) struct DynamicCodec {
    pub(crate) answer: MessageDescriptor,
}

impl Codec for DynamicCodec {
    type Encode = DynamicMessage;
    type Decode = DynamicMessage;
    type Encoder = DynamicEncoder;
    type Decoder = DynamicDecoder;

    fn encoder(&mut self) -> DynamicEncoder {
        DynamicEncoder
    }

    fn decoder(&mut self) -> DynamicDecoder {
        DynamicDecoder(self.answer.clone())
    }
}

/// Encoder of any message.
pub(crate) struct DynamicEncoder;

impl Encoder for DynamicEncoder {
    type Item = DynamicMessage;
    type Error = Status;

    fn encode(
        &mut self,
        message: DynamicMessage,
        buffer: &mut EncodeBuf<'_>,
    ) -> Result<(), Status> {
        buffer.put_slice(&message.encode_to_vec());
        Ok(())
    }
}

/// Decoder of one message type.
pub(crate) struct DynamicDecoder(MessageDescriptor);

impl Decoder for DynamicDecoder {
    type Item = DynamicMessage;
    type Error = Status;

    fn decode(&mut self, buffer: &mut DecodeBuf<'_>) -> Result<Option<DynamicMessage>, Status> {
        let bytes = buffer.copy_to_bytes(buffer.remaining());
        let decoded = DynamicMessage::decode(self.0.clone(), bytes);
        decoded
            .map(Some)
            .map_err(|error| Status::internal(format!("the answer cannot be read: {error}")))
    }
}
