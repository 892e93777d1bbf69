//! What makes an upload whole, and the bytes of a file as they leave again.

use bytes::Bytes;
use obvert_ledger::{hex, unhex};
use obvert_proto::{
    Problem, Violation,
    common::v1::Reason,
    project::v1::{Attachment, DownloadResponse, FinishUploadRequest, Record, record::Body},
};
use obvert_records::names;
use sha2::{Digest, Sha256};

/// Upload session of an attachment that is not whole yet.
pub(crate) fn session(project: &str, attachment_id: &str) -> String {
    format!("{project}/{attachment_id}")
}

/// Digest that an upload declares; refuses an id or a digest of the wrong form.
pub(crate) fn check(attachment_id: &str, sha256: &[u8]) -> Result<[u8; 32], Problem> {
    let mut wrong: Vec<_> = names::check_id("attachment_id", attachment_id)
        .into_iter()
        .collect();
    let digest = sha256.try_into();
    if digest.is_err() {
        let message = format!("has {} bytes: a SHA-256 has 32", sha256.len());
        wrong.push(Violation::new("sha256", message));
    }
    digest
        .ok()
        .filter(|_| wrong.is_empty())
        .ok_or_else(|| Problem::fields(wrong))
}

/// Refuses to upload another file under the id of a stored one.
pub(crate) fn same_file(
    name: &str,
    stored: &Attachment,
    size_bytes: i64,
    sha256: &[u8],
) -> Result<(), Problem> {
    if stored.size_bytes == size_bytes && stored.sha256 == hex(sha256) {
        return Ok(());
    }
    let message = format!("{name} is stored and holds another file: choose another id");
    Err(Problem::new(Reason::RecordExists, message)
        .fact("name", name)
        .fact("stored_sha256", &stored.sha256))
}

/// Refuses to finish an upload that has not as many bytes as it declares.
pub(crate) fn whole(name: &str, received: Option<u64>, declared: i64) -> Result<(), Problem> {
    let declared = declared.unsigned_abs();
    let (received, advice) = match received {
        None => (0, "begin the upload and send its bytes".to_owned()),
        Some(n) if n < declared => (n, format!("send the rest from byte {n}, then finish again")),
        Some(n) if n > declared => (n, "the upload is dropped, begin it again".to_owned()),
        Some(_) => return Ok(()),
    };
    let message = format!("{name} received {received} of {declared} bytes declared: {advice}");
    Err(Problem::new(Reason::UploadIncomplete, message)
        .fact("name", name)
        .fact("received_bytes", received)
        .fact("declared_bytes", declared))
}

/// Record of a whole upload.
pub(crate) fn record(request: FinishUploadRequest, sha256: &[u8; 32]) -> Record {
    let attachment = Attachment {
        file_name: request.file_name,
        media_type: request.media_type,
        size_bytes: request.size_bytes,
        sha256: hex(sha256),
        subjects: request.subjects,
    };
    Record {
        meta: None,
        body: Some(Body::Attachment(attachment)),
    }
}

/// A count of bytes as the schema carries it.
pub(crate) fn signed(bytes: u64) -> i64 {
    i64::try_from(bytes).unwrap_or(i64::MAX)
}

/// A stored file on its way out.
pub(crate) struct Source {
    pub(crate) sha256: [u8; 32],
    name: String,
    offset: u64,
    size: u64,
    /// Hash of what passed, when the whole file passes.
    hash: Option<Sha256>,
}

impl Source {
    /// File of an attachment, from an offset on.
    pub(crate) fn of(name: &str, file: &Attachment, offset_bytes: i64) -> Result<Self, Problem> {
        let (offset, size) = (u64::try_from(offset_bytes), file.size_bytes.unsigned_abs());
        let offset = offset
            .ok()
            .filter(|offset| *offset <= size)
            .ok_or_else(|| {
                let message =
                    format!("is {offset_bytes}, the file has {size} bytes: give 0 to {size}");
                Problem::fields(vec![Violation::new("offset_bytes", message)])
            })?;
        let sha256 = unhex(&file.sha256).ok_or_else(|| damaged(name))?;
        let hash = (offset == 0).then(Sha256::new);
        Ok(Self {
            sha256,
            name: name.to_owned(),
            offset,
            size,
            hash,
        })
    }

    /// Bytes to read next: start, and end not included.
    pub(crate) fn next(&self, chunk_bytes: u64) -> (u64, u64) {
        (self.offset, self.size.min(self.offset + chunk_bytes))
    }

    /// Answer that carries the bytes read, and what remains. The last part of a file read from its
    /// start is given out only when all of it has the stored digest.
    pub(crate) fn passed(
        mut self,
        data: Bytes,
    ) -> Result<(DownloadResponse, Option<Self>), Problem> {
        let offset_bytes = signed(self.offset);
        self.offset += data.len() as u64;
        if let Some(hash) = &mut self.hash {
            hash.update(&data);
        }
        let last = self.offset >= self.size || data.is_empty();
        if last
            && self
                .hash
                .take()
                .is_some_and(|hash| hash.finalize()[..] != self.sha256)
        {
            return Err(damaged(&self.name));
        }
        let answer = DownloadResponse {
            offset_bytes,
            size_bytes: signed(self.size),
            data,
        };
        Ok((answer, (!last).then_some(self)))
    }
}

fn damaged(name: &str) -> Problem {
    let message = format!("the stored bytes of {name} differ from their digest: restore a backup");
    Problem::new(Reason::StoreCorrupt, message).fact("name", name)
}
