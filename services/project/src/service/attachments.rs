//! `AttachmentService`: files, stored whole or not at all.

use std::pin::Pin;

use bytes::Bytes;
use futures::{Stream, stream};
use obvert_access::{Action, Caller, OFFICE};
use obvert_ledger::{Ledger, LedgerError};
use obvert_proto::{
    Problem, Violation,
    common::v1::Reason,
    project::v1::{
        Attachment, BeginUploadRequest, BeginUploadResponse, DownloadRequest, DownloadResponse,
        FinishUploadRequest, Record, UploadPartsRequest, UploadPartsResponse,
        attachment_service_server::AttachmentService,
    },
};
use obvert_records::{
    Create, Records, blob_refusal, check_own_id, check_request, check_write, names, now_ms, opened,
    reaches, refusal,
};
use prost::{Message, Name};
use tonic::{Request, Response, Status, Streaming};

use crate::{ProjectRegister, upload};

/// Largest part of an upload, unless the server's configuration says otherwise.
const PART_BYTES: usize = 1 << 20;
/// Part of a download.
const CHUNK_BYTES: u64 = 256 << 10;

/// Files of a ledger.
#[derive(Clone)]
pub struct Attachments {
    records: Records<ProjectRegister>,
    part_bytes: usize,
}

impl Attachments {
    /// Files over a ledger, sent in parts of a mebibyte at most.
    pub fn new(ledger: Ledger) -> Self {
        Self::with_part_limit(ledger, PART_BYTES)
    }

    /// Files over a ledger with another limit on the parts in which they are sent.
    pub fn with_part_limit(ledger: Ledger, part_bytes: usize) -> Self {
        Self {
            records: Records::new(ledger),
            part_bytes,
        }
    }

    fn ledger(&self) -> &Ledger {
        self.records.ledger()
    }

    async fn attachment(&self, name: &str) -> Result<Option<Attachment>, Problem> {
        let stored = self
            .ledger()
            .get(name.to_owned(), 0)
            .await
            .map_err(refusal)?;
        let stored = stored.filter(|stored| stored.type_name == Attachment::full_name());
        let read = stored
            .map(|stored| Attachment::decode(stored.body))
            .transpose();
        read.map_err(|error| {
            Problem::new(
                Reason::StoreCorrupt,
                format!("{name} cannot be read: {error}"),
            )
        })
    }

    async fn project_exists(&self, project: &str) -> Result<(), Problem> {
        let name = names::join("", "projects", project);
        let found = self.ledger().get(name.clone(), 0).await.map_err(refusal)?;
        if project == OFFICE || found.is_some() {
            return Ok(());
        }
        Err(refusal(LedgerError::NotFound { name }))
    }

    /// Takes one part; the first of a stream names the upload.
    async fn take(
        &self,
        caller: &Caller,
        session: &mut Option<String>,
        part: UploadPartsRequest,
    ) -> Result<u64, Problem> {
        let session = match session {
            Some(session) => session,
            None => {
                may_upload(caller, &part.project, &part.attachment_id)?;
                session.insert(upload::session(&part.project, &part.attachment_id))
            }
        };
        let (bytes, most) = (part.data.len(), self.part_bytes);
        if bytes > most {
            let message = format!("the part has {bytes} bytes, at most {most} fit: send less");
            return Err(Problem::new(Reason::TooLarge, message).fact("part_bytes", bytes));
        }
        let offset = u64::try_from(part.offset_bytes).map_err(|_| {
            let message = format!("is {}: give 0 or more bytes", part.offset_bytes);
            Problem::fields(vec![Violation::new("offset_bytes", message)])
        })?;
        let taken = self
            .ledger()
            .blobs()
            .append(session.clone(), offset, part.data)
            .await;
        taken.map_err(blob_refusal)
    }
}

#[tonic::async_trait]
impl AttachmentService for Attachments {
    async fn begin_upload(
        &self,
        request: Request<BeginUploadRequest>,
    ) -> Result<Response<BeginUploadResponse>, Status> {
        let (caller, request) = opened(request)?;
        may_upload(&caller, &request.project, &request.attachment_id)?;
        check_request(&request)?;
        let BeginUploadRequest {
            project,
            attachment_id,
            size_bytes,
            sha256,
        } = request;
        upload::check(&attachment_id, &sha256)?;
        self.project_exists(&project).await?;
        let name = names::join(&project, "attachments", &attachment_id);
        if let Some(stored) = self.attachment(&name).await? {
            upload::same_file(&name, &stored, size_bytes, &sha256)?;
            return Ok(Response::new(BeginUploadResponse {
                received_bytes: size_bytes,
            }));
        }
        let session = upload::session(&project, &attachment_id);
        let blobs = self.ledger().blobs();
        blobs.begin(session.clone()).await.map_err(blob_refusal)?;
        let received = blobs
            .received(session)
            .await
            .map_err(blob_refusal)?
            .unwrap_or_default();
        Ok(Response::new(BeginUploadResponse {
            received_bytes: upload::signed(received),
        }))
    }

    async fn upload_parts(
        &self,
        request: Request<Streaming<UploadPartsRequest>>,
    ) -> Result<Response<UploadPartsResponse>, Status> {
        let caller = Caller::of(&request)?;
        let mut parts = request.into_inner();
        let (mut session, mut received) = (None, 0);
        while let Some(part) = parts.message().await? {
            received = self.take(&caller, &mut session, part).await?;
        }
        if session.is_none() {
            let message = "the stream held no part: name project and attachment in the first";
            return Err(Problem::new(Reason::UploadIncomplete, message).into());
        }
        Ok(Response::new(UploadPartsResponse {
            received_bytes: upload::signed(received),
        }))
    }

    async fn finish_upload(
        &self,
        request: Request<FinishUploadRequest>,
    ) -> Result<Response<Record>, Status> {
        let (caller, mut request) = opened(request)?;
        may_upload(&caller, &request.project, &request.attachment_id)?;
        check_request(&request)?;
        let write = check_write(request.write.take())?;
        let sha256 = upload::check(&request.attachment_id, &request.sha256)?;
        let (project, id) = (request.project.clone(), request.attachment_id.clone());
        let name = names::join(&project, "attachments", &id);
        let session = upload::session(&project, &id);
        let size_bytes = request.size_bytes;
        let record = Some(upload::record(request, &sha256));
        let create = |validate_only| {
            let write = Some(obvert_proto::common::v1::Write {
                validate_only,
                ..write.clone()
            });
            let (project, record_id) = (project.clone(), id.clone());
            Create {
                write,
                project,
                record_id,
                record: record.clone(),
            }
        };
        if self.attachment(&name).await?.is_none() {
            // What is wrong with the record is said before the bytes leave the upload.
            let valid = self
                .records
                .create_own(&caller, create(true), now_ms())
                .await?;
            let blobs = self.ledger().blobs();
            let received = blobs
                .received(session.clone())
                .await
                .map_err(blob_refusal)?;
            if received > Some(size_bytes.unsigned_abs()) && !write.validate_only {
                blobs.abandon(session.clone()).await.map_err(blob_refusal)?;
            }
            upload::whole(&name, received, size_bytes)?;
            if write.validate_only {
                return Ok(Response::new(valid));
            }
            let finished = blobs
                .finish(session, size_bytes.unsigned_abs(), sha256)
                .await;
            finished.map_err(blob_refusal)?;
        }
        Ok(Response::new(
            self.records
                .create_own(&caller, create(write.validate_only), now_ms())
                .await?,
        ))
    }

    type DownloadStream = Pin<Box<dyn Stream<Item = Result<DownloadResponse, Status>> + Send>>;

    async fn download(
        &self,
        request: Request<DownloadRequest>,
    ) -> Result<Response<Self::DownloadStream>, Status> {
        let (caller, DownloadRequest { name, offset_bytes }) = opened(request)?;
        let grant = caller.may_own(Action::Read, names::project_of(&name))?;
        reaches(self.ledger(), &caller, grant, &name).await?;
        let absent = || refusal(LedgerError::NotFound { name: name.clone() });
        let attachment = self.attachment(&name).await?.ok_or_else(absent)?;
        let source = upload::Source::of(&name, &attachment, offset_bytes)?;
        let start = (self.ledger().clone(), Some(source));
        let chunks = stream::try_unfold(start, |(ledger, source)| async move {
            let Some(source) = source else {
                return Ok(None);
            };
            let (start, end) = source.next(CHUNK_BYTES);
            let data = if start == end {
                Bytes::new()
            } else {
                let read = ledger.blobs().read_range(source.sha256, start, end).await;
                read.map_err(blob_refusal)?
            };
            let (answer, source) = source.passed(data)?;
            Ok::<_, Status>(Some((answer, (ledger, source))))
        });
        Ok(Response::new(Box::pin(chunks)))
    }
}

/// Lets an upload pass that its caller may make, under an id that is the caller's to take.
fn may_upload(caller: &Caller, project: &str, attachment_id: &str) -> Result<(), Problem> {
    let grant = caller.may_own(Action::Write("attachments"), project)?;
    let wrong = check_own_id("attachment_id", attachment_id, (caller, grant));
    wrong.map_or(Ok(()), |wrong| Err(Problem::fields(vec![wrong])))
}
