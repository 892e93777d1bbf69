//! Has a native cure log read: bytes in, header and columns out, both at the same time.

use bytes::Bytes;
use obvert_proto::{
    installation::v1::{CureColumns, CureHeader},
    plugin::v1::{
        ReadLogRequest, ReadLogResponse, log_reader_service_client::LogReaderServiceClient,
        read_log_request, read_log_response,
    },
};
use tokio::sync::{mpsc, oneshot};
use tokio_stream::wrappers::ReceiverStream;

use crate::{Fault, Kind, Plugin, description::described};

/// Parts that wait on the way in, and on the way out.
const WAITING: usize = 4;
/// Bytes of one part.
const PART_BYTES: usize = 1 << 20;

/// Where the bytes of a log go; dropped, it ends the log.
pub struct LogInput {
    requests: mpsc::Sender<ReadLogRequest>,
    plugin: Plugin,
    _ended: oneshot::Sender<()>,
}

/// What was read, part by part.
pub struct LogOutput {
    parts: mpsc::Receiver<Result<LogPart, Fault>>,
}

/// A part of what was read.
#[derive(Debug, Clone, PartialEq)]
pub enum LogPart {
    /// What the file says of itself; comes first.
    Header(CureHeader),
    /// Samples.
    Columns(CureColumns),
}

/// Begins to read a log; answers the reader's version and both ends.
///
/// # Errors
///
/// The reader is down, late, of another name, or of another version of the contract.
pub async fn open_log(
    plugin: &Plugin,
    file_name: String,
) -> Result<(String, LogInput, LogOutput), Fault> {
    let description = plugin.within(described(plugin, Kind::LogReader)).await?;
    let (requests, outgoing) = mpsc::channel(WAITING);
    let (parts, incoming) = mpsc::channel(WAITING);
    let (ended, input_ended) = oneshot::channel();
    let name = read_log_request::Part::FileName(file_name);
    let _ = requests.try_send(ReadLogRequest { part: Some(name) });
    let called = plugin.clone();
    tokio::spawn(async move {
        let deadline = called.registration.deadline;
        let late = async {
            // The input tells its end by being dropped.
            let _ = input_ended.await;
            tokio::time::sleep(deadline).await;
        };
        let ended = tokio::select! {
            ended = forward(&called, outgoing, &parts) => ended,
            () = late => Err(Fault::late(called.id(), deadline)),
        };
        if let Err(fault) = ended {
            let _ = parts.send(Err(fault)).await;
        }
    });
    let input = LogInput {
        requests,
        plugin: plugin.clone(),
        _ended: ended,
    };
    let output = LogOutput { parts: incoming };
    Ok((description.version, input, output))
}

impl LogInput {
    /// Hands on bytes of the log.
    ///
    /// # Errors
    ///
    /// The reader does not take them within its deadline. A reader that has ended says why in the
    /// output.
    pub async fn push(&self, mut data: Bytes) -> Result<(), Fault> {
        let deadline = self.plugin.registration.deadline;
        while !data.is_empty() {
            let part = data.split_to(data.len().min(PART_BYTES));
            let part = read_log_request::Part::Data(part.to_vec());
            let sent = self.requests.send(ReadLogRequest { part: Some(part) });
            match tokio::time::timeout(deadline, sent).await {
                Ok(Ok(())) => {}
                Ok(Err(_)) => return Ok(()),
                Err(_) => return Err(Fault::late(self.plugin.id(), deadline)),
            }
        }
        Ok(())
    }
}

impl LogOutput {
    /// The next part; nothing at the end.
    ///
    /// # Errors
    ///
    /// Whatever the reader did that the contract does not allow; then nothing more comes.
    pub async fn next(&mut self) -> Result<Option<LogPart>, Fault> {
        self.parts.recv().await.transpose()
    }
}

/// Hands on what the reader answers until it ends or nobody takes it.
async fn forward(
    plugin: &Plugin,
    outgoing: mpsc::Receiver<ReadLogRequest>,
    parts: &mpsc::Sender<Result<LogPart, Fault>>,
) -> Result<(), Fault> {
    let id = plugin.id();
    let failed = |status: tonic::Status| Fault::of(id, "LogReaderService", &status);
    let client = LogReaderServiceClient::new(plugin.channel.clone());
    let mut client = client.max_decoding_message_size(plugin.registration.answer_bytes);
    let answers = client.read_log(ReceiverStream::new(outgoing)).await;
    let mut answers = answers.map_err(failed)?.into_inner();
    let mut has_header = false;
    while let Some(ReadLogResponse { part }) = answers.message().await.map_err(failed)? {
        let part = match part {
            Some(read_log_response::Part::Header(header)) if !has_header => LogPart::Header(header),
            Some(read_log_response::Part::Columns(columns)) if has_header => {
                LogPart::Columns(columns)
            }
            Some(_) => {
                return Err(Fault::broken(
                    id,
                    "does not send one header and then samples",
                ));
            }
            None => return Err(Fault::broken(id, "sends an empty part of a log")),
        };
        has_header = true;
        if parts.send(Ok(part)).await.is_err() {
            return Ok(());
        }
    }
    if has_header {
        return Ok(());
    }
    Err(Fault::broken(id, "ends without a header"))
}
