//! A child that typesets: both ends of its pipe.
//!
//! Each way one message after the other, each a length in four bytes, least first, and so many
//! bytes: a [`Task`] in, an [`Answer`] out.

use std::{
    collections::BTreeMap,
    io::{self, Read, Write},
    path::Path,
    process::{ChildStdin, Command, Stdio},
    sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel},
};

use prost::Message;

use crate::{ChildLimits, Document, Paper, Template, TypesetError, render};

/// Largest task: the plots of a long run are a few megabytes.
const TASK_BYTES: usize = 256 << 20;

/// A document on its way to the child.
#[derive(Clone, PartialEq, Message)]
struct Task {
    #[prost(string, tag = "1")]
    template: String,
    /// JSON text.
    #[prost(string, tag = "2")]
    data: String,
    #[prost(btree_map = "string, bytes", tag = "3")]
    files: BTreeMap<String, Vec<u8>>,
    #[prost(string, tag = "4")]
    ident: String,
    #[prost(string, tag = "5")]
    title: String,
    #[prost(int64, tag = "6")]
    time_unix_s: i64,
    #[prost(bool, tag = "7")]
    a4: bool,
}

/// What came of a document: its bytes, or why there are none.
#[derive(Clone, PartialEq, Message)]
struct Answer {
    #[prost(bytes = "vec", tag = "1")]
    pdf: Vec<u8>,
    #[prost(string, tag = "2")]
    error: String,
}

/// Typesets what comes in until the other end closes.
///
/// # Errors
///
/// A pipe that breaks, or something on it that is no task.
pub fn serve(mut input: impl Read, mut output: impl Write) -> io::Result<()> {
    while let Some(bytes) = read_message(&mut input, TASK_BYTES)? {
        let task = Task::decode(bytes.as_slice()).map_err(io::Error::other)?;
        let answer = match document(task).and_then(|document| render(&document)) {
            Ok(pdf) => Answer {
                pdf,
                error: String::new(),
            },
            Err(error) => Answer {
                pdf: Vec::new(),
                error: error.to_string(),
            },
        };
        write_message(&mut output, &answer.encode_to_vec())?;
    }
    Ok(())
}

/// The asking end.
#[derive(Debug)]
pub(crate) struct Child {
    process: std::process::Child,
    tasks: SyncSender<Vec<u8>>,
    answers: Receiver<io::Result<Vec<u8>>>,
    limits: ChildLimits,
}

impl Child {
    /// Starts `program worker`, which limits its own memory before it reads anything.
    pub(crate) fn start(program: &Path, limits: ChildLimits) -> Result<Self, TypesetError> {
        let failed = |what: String| TypesetError::Child(format!("{}: {what}", program.display()));
        let mut process = Command::new(program)
            .arg("worker")
            .arg("--memory-bytes")
            .arg(limits.memory_bytes.to_string())
            .env_clear()
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| failed(error.to_string()))?;
        let (Some(tasks), Some(mut output)) = (process.stdin.take(), process.stdout.take()) else {
            return Err(failed("it has no pipes".to_owned()));
        };
        // A child that does not read must not hold up who asks, so a thread writes.
        let (give, given) = sync_channel::<Vec<u8>>(1);
        std::thread::spawn(move || write_all(tasks, &given));
        let (send, answers) = sync_channel(1);
        // Ends with the child, whose end of the pipe closes then.
        std::thread::spawn(move || {
            loop {
                let read = read_message(&mut output, limits.pdf_bytes + 1_024);
                let more = matches!(read, Ok(Some(_)));
                let read = read.and_then(|read| read.ok_or_else(|| io::Error::other("it ended")));
                if send.send(read).is_err() || !more {
                    return;
                }
            }
        });
        Ok(Self {
            process,
            tasks: give,
            answers,
            limits,
        })
    }

    /// Typesets one document. The outer error says that the child is of no more use.
    pub(crate) fn typeset(
        &mut self,
        document: &Document,
    ) -> Result<Result<Vec<u8>, TypesetError>, TypesetError> {
        let failed = |what: String| TypesetError::Child(what);
        let task = task(document)?.encode_to_vec();
        let gone = |_| failed("it does not take the document".to_owned());
        self.tasks.send(task).map_err(gone)?;
        let answer = match self.answers.recv_timeout(self.limits.deadline) {
            Ok(Ok(answer)) => answer,
            Ok(Err(error)) if error.kind() == io::ErrorKind::FileTooLarge => {
                return Err(TypesetError::TooLarge(error.to_string()));
            }
            Ok(Err(error)) => return Err(failed(error.to_string())),
            Err(RecvTimeoutError::Timeout) => {
                let limit = self.limits.deadline.as_secs();
                return Err(failed(format!(
                    "it took longer than {limit} s and was stopped: draw less, or raise the limit"
                )));
            }
            Err(RecvTimeoutError::Disconnected) => return Err(failed("it ended".to_owned())),
        };
        let answer = Answer::decode(answer.as_slice())
            .map_err(|error| failed(format!("its answer cannot be read: {error}")))?;
        Ok(if answer.error.is_empty() {
            Ok(answer.pdf)
        } else {
            Err(TypesetError::Refused(answer.error))
        })
    }
}

impl Drop for Child {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Hands tasks to the child until one of the two is gone.
fn write_all(mut input: ChildStdin, tasks: &Receiver<Vec<u8>>) {
    for task in tasks {
        if write_message(&mut input, &task).is_err() {
            return;
        }
    }
}

fn task(document: &Document) -> Result<Task, TypesetError> {
    let data = serde_json::to_string(&document.data);
    Ok(Task {
        template: document.template.name().to_owned(),
        data: data.map_err(|error| TypesetError::Data(error.to_string()))?,
        files: document.files.clone(),
        ident: document.ident.clone(),
        title: document.title.clone(),
        time_unix_s: document.time_unix_s,
        a4: document.paper == Paper::A4,
    })
}

fn document(task: Task) -> Result<Document, TypesetError> {
    let unknown = || TypesetError::Data(format!("there is no template {}", task.template));
    Ok(Document {
        template: Template::of_name(&task.template).ok_or_else(unknown)?,
        data: serde_json::from_str(&task.data)
            .map_err(|error| TypesetError::Data(error.to_string()))?,
        files: task.files,
        ident: task.ident,
        title: task.title,
        time_unix_s: task.time_unix_s,
        paper: if task.a4 { Paper::A4 } else { Paper::Letter },
    })
}

fn write_message(output: &mut impl Write, bytes: &[u8]) -> io::Result<()> {
    let length = u32::try_from(bytes.len()).map_err(io::Error::other)?;
    output.write_all(&length.to_le_bytes())?;
    output.write_all(bytes)?;
    output.flush()
}

/// The next message, or nothing at the end of the stream.
fn read_message(input: &mut impl Read, most: usize) -> io::Result<Option<Vec<u8>>> {
    let mut length = [0; 4];
    match input.read_exact(&mut length) {
        Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Ok(None),
        read => read?,
    }
    let length = u32::from_le_bytes(length) as usize;
    if length > most {
        let what = format!("a message of {length} bytes came, at most {most} are taken");
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, what));
    }
    let mut bytes = Vec::new();
    input.take(length as u64).read_to_end(&mut bytes)?;
    if bytes.len() < length {
        return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
    }
    Ok(Some(bytes))
}
