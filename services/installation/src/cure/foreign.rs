//! A native log of another form: a plug-in reads it while it is stored untouched.

use bytes::Bytes;
use obvert_plugins::{Fault, Kind, LogInput, LogOutput, LogPart, Plugins, open_log};
use obvert_proto::{Problem, Violation, common::v1::Reason};
use sha2::{Digest, Sha256};
use tokio::{sync::mpsc::Sender, task::JoinHandle};

use super::intake::{self, CureLimits, Part};

/// A log that is being read by a plug-in.
pub(super) struct ForeignLog {
    /// Plug-in and its version.
    pub(super) reader: [String; 2],
    input: LogInput,
    hash: Sha256,
    size_bytes: u64,
    limits: CureLimits,
    forwarding: JoinHandle<Result<(), Fault>>,
}

/// What the native file was.
pub(super) struct NativeDigest {
    pub(super) sha256: [u8; 32],
    pub(super) size_bytes: u64,
}

impl ForeignLog {
    /// Begins to read; what is read goes to `parts` as it comes.
    ///
    /// # Errors
    ///
    /// `FIELDS_INVALID` for a reader that is not registered, `PLUGIN_FAILED`.
    pub(super) async fn open(
        (plugins, limits): (&Plugins, CureLimits),
        (id, project): (&str, &str),
        file_name: &str,
        parts: Sender<Part>,
    ) -> Result<Self, Problem> {
        let plugin = plugins.of(id, Kind::LogReader);
        let Some(plugin) = plugin.filter(|plugin| plugin.sees(project)) else {
            let message = format!(
                "is \"{id}\", and no log reader of that id is registered for this project: name \
                 another, or have it added to the server's config"
            );
            return Err(Problem::fields(vec![Violation::new(
                "header.log_reader",
                message,
            )]));
        };
        let opened = open_log(plugin, file_name.to_owned()).await;
        let (version, input, output) = opened.map_err(|fault| failed(id, fault))?;
        Ok(Self {
            reader: [id.to_owned(), version],
            input,
            hash: Sha256::new(),
            size_bytes: 0,
            limits,
            forwarding: tokio::spawn(forward(output, parts)),
        })
    }

    /// Hands on bytes of the native file.
    ///
    /// # Errors
    ///
    /// `TOO_LARGE`, or `PLUGIN_FAILED` when the reader does not take them in time.
    pub(super) async fn push(&mut self, data: Bytes) -> Result<(), Problem> {
        self.size_bytes += data.len() as u64;
        intake::check_size(self.size_bytes, self.limits)?;
        self.hash.update(&data);
        let pushed = self.input.push(data).await;
        pushed.map_err(|fault| failed(&self.reader[0], fault))
    }

    /// Ends the file and waits for what is still read of it.
    ///
    /// # Errors
    ///
    /// `PLUGIN_FAILED` with what the reader did.
    pub(super) async fn finish(self) -> Result<NativeDigest, Problem> {
        drop(self.input);
        let forwarded = self.forwarding.await;
        let forwarded = forwarded
            .map_err(|error| Problem::new(Reason::Internal, format!("the reading ended: {error}")));
        forwarded?.map_err(|fault| failed(&self.reader[0], fault))?;
        Ok(NativeDigest {
            sha256: self.hash.finalize().into(),
            size_bytes: self.size_bytes,
        })
    }
}

async fn forward(mut output: LogOutput, parts: Sender<Part>) -> Result<(), Fault> {
    while let Some(part) = output.next().await? {
        let part = match part {
            LogPart::Header(header) => Part::Header(header),
            LogPart::Columns(columns) => Part::Columns(columns),
        };
        // A reading thread that has ended says why itself.
        if parts.send(part).await.is_err() {
            break;
        }
    }
    Ok(())
}

fn failed(id: &str, fault: Fault) -> Problem {
    Problem::new(Reason::PluginFailed, fault.message)
        .fact("plugin", id)
        .fact("fault", fault.word)
}
