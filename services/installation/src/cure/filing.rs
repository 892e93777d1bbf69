//! Files a cure log: one stream in, one record out.

use std::sync::atomic::{AtomicU64, Ordering};

use futures::{Stream, StreamExt};
use obvert_access::{Action, Caller};
use obvert_ledger::{Assert, Expect, Ledger, NewEntry};
use obvert_plugins::Plugins;
use obvert_proto::{
    Problem, Violation,
    common::v1::{Reason, RecordMeta},
    installation::v1::{
        CureLogHeader, CureRecord, ImportCureLogRequest, ImportCureLogResponse,
        import_cure_log_request::Part as Sent,
    },
};
use obvert_records::{Digest, caller_of, check_write, draft, meta, names, of_own_shift, refusal};
use prost::{Message, Name};
use tokio::sync::mpsc;
use tonic::Status;

use super::{
    analysis::analyse,
    band::{self, Found},
    facts::RunFacts,
    findings::findings,
    foreign::{ForeignLog, NativeDigest},
    intake::{self, CureLimits, Part, Taken},
    native::{NativeFile, refused},
};

/// Parts that wait for the reading thread.
const WAITING_PARTS: usize = 8;

/// What filing needs.
#[derive(Clone)]
pub(crate) struct CureFiling {
    pub(crate) ledger: Ledger,
    pub(crate) limits: CureLimits,
    /// Readers of native logs of other forms.
    pub(crate) plugins: Plugins,
}

/// Reads, judges and files the log of a stream.
///
/// # Errors
///
/// `NOT_ALLOWED`; `FIELDS_INVALID` for a wrong header; what reading the samples runs into;
/// `CLAIM_TAKEN` naming the record that holds the same file. Wrong length, manholes, liner or time
/// are findings and no errors.
pub(crate) async fn import(
    filing: &CureFiling,
    caller: &Caller,
    mut sent: impl Stream<Item = Result<ImportCureLogRequest, Status>> + Unpin,
    now_ms: i64,
) -> Result<ImportCureLogResponse, Status> {
    let first = sent
        .next()
        .await
        .transpose()?
        .and_then(|request| request.part);
    let Some(Sent::Header(head)) = first else {
        let message = "the first message is not the header: send project, run and file name first";
        return Err(Problem::new(Reason::UploadIncomplete, message).into());
    };
    let action = Action::Write("cureRecords");
    let role = caller.may_own(action, &head.project)?.role;
    let write = check_write(head.write.clone())?;
    check_head(&head)?;
    of_own_shift(&filing.ledger, caller, &head.run).await?;
    let facts = RunFacts::load(&filing.ledger, &head.project, &head.run).await?;
    let (taken, native) = receive(filing, &head, sent, now_ms).await?;
    let (sha256, size_bytes, series) = (taken.sha256, taken.size_bytes, taken.series.clone());
    let (file_name, pinned) = (head.file_name.clone(), facts.record.clone());
    let judged = tokio::task::spawn_blocking(move || record(taken, &facts, file_name));
    let mut record = judged
        .await
        .map_err(|error| Status::internal(error.to_string()))?;
    let name = names::join(&head.project, "cureRecords", &head.record_id);
    if write.validate_only {
        native.abandon().await;
        let meta = RecordMeta {
            name,
            ..RecordMeta::default()
        };
        return Ok(ImportCureLogResponse {
            meta: Some(meta),
            cure_record: Some(record),
        });
    }
    native.finish(sha256).await?;
    let series = filing.ledger.blobs().put(series).await.map_err(refused)?;
    record.series_sha256 = hex(&series);
    record.file_size_bytes = i64::try_from(size_bytes).unwrap_or(i64::MAX);
    let asserts = vec![
        Assert {
            name: name.clone(),
            expect: Expect::Absent,
        },
        Assert {
            name: pinned.name,
            expect: Expect::Revision(pinned.revision),
        },
    ];
    let digest = Digest::default()
        .part(name.as_bytes())
        .part(head.run.as_bytes())
        .part(head.file_name.as_bytes())
        .part(&sha256);
    let digest = match head.log_reader.as_str() {
        "" => digest,
        id => digest.part(id.as_bytes()),
    };
    let digest = digest.finish();
    let content = (asserts, vec![entry(&name, &record)]);
    let caller = caller_of(caller, role);
    commit(
        filing,
        draft(&head.project, caller, &write, digest, now_ms, content),
        &name,
    )
    .await
}

fn check_head(head: &CureLogHeader) -> Result<(), Problem> {
    let mut wrong: Vec<_> = names::check_id("header.project", &head.project)
        .into_iter()
        .collect();
    wrong.extend(names::check_id("header.record_id", &head.record_id));
    let length = head.file_name.chars().count();
    if head.file_name.trim().is_empty() || length > 200 {
        let message = "is missing or longer than 200 characters: name the file";
        wrong.push(Violation::new("header.file_name", message));
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

/// Takes the samples of a stream while they are read on a thread of their own.
async fn receive(
    filing: &CureFiling,
    head: &CureLogHeader,
    mut sent: impl Stream<Item = Result<ImportCureLogRequest, Status>> + Unpin,
    now_ms: i64,
) -> Result<(Taken, NativeFile), Status> {
    static SESSIONS: AtomicU64 = AtomicU64::new(0);
    let session = format!(
        "cure-log/{now_ms}/{}",
        SESSIONS.fetch_add(1, Ordering::Relaxed)
    );
    let (parts, waiting) = mpsc::channel(WAITING_PARTS);
    let foreign = match head.log_reader.as_str() {
        "" => None,
        id => {
            let (of, name) = ((id, head.project.as_str()), head.file_name.as_str());
            let by = (&filing.plugins, filing.limits);
            Some(ForeignLog::open(by, of, name, parts.clone()).await?)
        }
    };
    let mut intake = Intake {
        native: NativeFile::new(filing.ledger.clone(), session),
        is_stored: !head.write.as_ref().is_some_and(|write| write.validate_only),
        foreign,
        parts,
    };
    let (file, header, limits) = (head.file_name.clone(), head.header.clone(), filing.limits);
    let reading = tokio::task::spawn_blocking(move || intake::take(waiting, &file, header, limits));
    let mut broken = None;
    while broken.is_none() {
        match sent.next().await.transpose() {
            Ok(None) => break,
            Ok(Some(request)) => match intake.take(request.part).await {
                Ok(true) => {}
                Ok(false) => break,
                Err(problem) => broken = Some(problem.into()),
            },
            Err(status) => broken = Some(status),
        }
    }
    let (native, digest) = intake.end().await;
    let taken = reading
        .await
        .map_err(|error| Status::internal(error.to_string()))?;
    let taken = match (broken, digest, taken) {
        (Some(status), ..) | (None, Err(status), _) => Err(status),
        (None, Ok(_), Err(problem)) => Err(problem.into()),
        (None, Ok(read), Ok(taken)) => Ok(match read {
            Some((digest, log_reader)) => Taken {
                sha256: digest.sha256,
                size_bytes: digest.size_bytes,
                log_reader,
                ..taken
            },
            None => taken,
        }),
    };
    match taken {
        Ok(taken) => Ok((taken, native)),
        Err(status) => {
            native.abandon().await;
            Err(status)
        }
    }
}

/// Where the parts of a stream go.
struct Intake {
    native: NativeFile,
    is_stored: bool,
    foreign: Option<ForeignLog>,
    parts: mpsc::Sender<Part>,
}

impl Intake {
    /// Takes one part; false when the reading thread has ended, which says why itself.
    async fn take(&mut self, part: Option<Sent>) -> Result<bool, Problem> {
        let part = match part {
            Some(Sent::Data(data)) => {
                if self.is_stored {
                    self.native.push(&data).await?;
                }
                if let Some(foreign) = &mut self.foreign {
                    foreign.push(data).await?;
                    return Ok(!self.parts.is_closed());
                }
                Part::Data(data)
            }
            Some(Sent::Columns(columns)) if self.foreign.is_none() => Part::Columns(columns),
            Some(Sent::Columns(_)) => {
                let message = "columns came for a log reader: send the bytes of its file";
                return Err(Problem::new(Reason::UploadIncomplete, message));
            }
            Some(Sent::Header(_)) | None => {
                let message = "a second header or an empty message came: send one log per call";
                return Err(Problem::new(Reason::UploadIncomplete, message));
            }
        };
        Ok(self.parts.send(part).await.is_ok())
    }

    /// Ends the input: the native file, and what a log reader says of it.
    async fn end(
        self,
    ) -> (
        NativeFile,
        Result<Option<(NativeDigest, [String; 2])>, Status>,
    ) {
        drop(self.parts);
        let read = match self.foreign {
            None => Ok(None),
            Some(foreign) => {
                let reader = foreign.reader.clone();
                let finished = foreign.finish().await;
                finished
                    .map(|digest| Some((digest, reader)))
                    .map_err(Status::from)
            }
        };
        (self.native, read)
    }
}

/// The record of a log, without what only storing it makes known.
fn record(taken: Taken, facts: &RunFacts, file_name: String) -> CureRecord {
    let Taken {
        header,
        samples,
        sha256,
        size_bytes,
        log_reader: [log_reader, log_reader_version],
        ..
    } = taken;
    let last_row = i32::try_from(samples.rows()).unwrap_or(i32::MAX);
    let sheet = facts.sheet.as_ref();
    let band = band::find(&header, facts.order.as_ref(), sheet.map(|(_, sheet)| sheet));
    let analysis = analyse(samples, &header, facts, &band);
    let findings = findings(&header, facts, &band, &analysis, size_bytes > 0);
    let (band_index, used) = match band {
        Found::Band(index, _) => (index, sheet.map(|(record, _)| record.clone())),
        _ => (-1, None),
    };
    let used = used.unwrap_or_default();
    CureRecord {
        run: facts.record.name.clone(),
        header: Some(header),
        figures: Some(analysis.figures),
        verdict: analysis.verdict.into(),
        maker_sheet: used.name,
        maker_sheet_revision: used.revision,
        band_index,
        deviations: analysis.deviations,
        findings,
        file_sha256: hex(&sha256),
        first_row: last_row.min(1),
        last_row,
        file_name,
        series_sha256: String::new(),
        file_size_bytes: 0,
        log_reader,
        log_reader_version,
    }
}

fn entry(name: &str, record: &CureRecord) -> NewEntry {
    let CureRecord {
        file_sha256,
        first_row,
        last_row,
        ..
    } = record;
    let mut refers = vec![record.run.clone()];
    if !record.maker_sheet.is_empty() {
        refers.push(record.maker_sheet.clone());
    }
    refers.sort();
    NewEntry {
        name: name.to_owned(),
        type_name: CureRecord::full_name(),
        body: record.encode_to_vec().into(),
        refers,
        claims: vec![format!("cure-file/{file_sha256}/{first_row}-{last_row}")],
    }
}

async fn commit(
    filing: &CureFiling,
    draft: obvert_ledger::Draft,
    name: &str,
) -> Result<ImportCureLogResponse, Status> {
    let committed = filing.ledger.commit(draft).await.map_err(refusal)?;
    let stored = filing
        .ledger
        .get(name.to_owned(), committed.revision)
        .await
        .map_err(refusal)?;
    let unread = || Problem::new(Reason::Internal, format!("{name} cannot be read back"));
    let stored = stored.ok_or_else(unread)?;
    let record = CureRecord::decode(stored.body.clone()).map_err(|_| unread())?;
    Ok(ImportCureLogResponse {
        meta: Some(meta(&stored)),
        cure_record: Some(record),
    })
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
