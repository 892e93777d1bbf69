//! Files: stored whole or not at all, resumed where they broke off.

use std::{
    fs::File,
    io::{Read, Seek, SeekFrom, Write as _},
    path::{Path, PathBuf},
};

use bytes::Bytes;
use clap::ArgMatches;
use futures::stream;
use obvert_proto::{
    common::v1::{RecordMeta, Write},
    project::v1::{
        BeginUploadRequest, DownloadRequest, FinishUploadRequest, UploadPartsRequest,
        attachment_service_client::AttachmentServiceClient,
    },
};
use sha2::{Digest, Sha256};

use super::{Session, file, file_name, text, write};
use crate::{Exit, Failure, progress};

/// Bytes of one message.
const CHUNK: usize = 256 << 10;

pub(crate) async fn put(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let subjects = given
        .get_many::<String>("subject")
        .into_iter()
        .flatten()
        .cloned()
        .collect();
    let file = Sent {
        project: text(given, "project"),
        id: text(given, "id"),
        path: file(given, "file")?,
        media_type: text(given, "media-type"),
        subjects,
    };
    let digest = digest(file.path)?;
    let meta = store(session, file, digest, write::envelope(given)).await?;
    session
        .output
        .say(&format!("{}@{}", meta.name, meta.revision))
}

/// A file on its way into the store.
pub(super) struct Sent<'a> {
    pub(super) project: &'a str,
    pub(super) id: &'a str,
    pub(super) path: &'a Path,
    pub(super) media_type: &'a str,
    pub(super) subjects: Vec<String>,
}

/// Sends what the server does not have of a file, and has it filed.
pub(super) async fn store(
    session: &Session,
    file: Sent<'_>,
    (size, sha256): (u64, [u8; 32]),
    write: Write,
) -> Result<RecordMeta, Failure> {
    let size_bytes = i64::try_from(size).unwrap_or(i64::MAX);
    let (project, attachment_id) = (file.project.to_owned(), file.id.to_owned());
    let mut client = AttachmentServiceClient::new(session.channel.clone());
    let begin = BeginUploadRequest {
        project: project.clone(),
        attachment_id: attachment_id.clone(),
        size_bytes,
        sha256: sha256.to_vec(),
    };
    let begun = client.begin_upload(begin).await?.into_inner();
    let start = u64::try_from(begun.received_bytes).unwrap_or_default();
    // A file that the server has whole, stored or not, has no upload to go on with.
    if size == 0 || start < size {
        let names = (project.clone(), attachment_id.clone());
        let parts = parts(file.path.to_owned(), start, names)?;
        client.upload_parts(parts).await?;
    }
    let finish = FinishUploadRequest {
        write: Some(write),
        project,
        attachment_id,
        size_bytes,
        sha256: sha256.to_vec(),
        file_name: file_name(file.path),
        media_type: file.media_type.to_owned(),
        subjects: file.subjects,
    };
    let record = client.finish_upload(finish).await?.into_inner();
    Ok(record.meta.unwrap_or_default())
}

pub(crate) async fn fetch(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let out = given.get_one::<PathBuf>("out");
    let out =
        out.ok_or_else(|| Failure::new(Exit::Usage, "--out is missing: name the file to write"))?;
    let request = DownloadRequest {
        name: text(given, "name").to_owned(),
        offset_bytes: 0,
    };
    let mut client = AttachmentServiceClient::new(session.channel.clone());
    let mut parts = client.download(request).await?.into_inner();
    let mut target = File::create(out).map_err(|error| Failure::file(out, &error))?;
    while let Some(part) = parts.message().await? {
        target
            .write_all(&part.data)
            .map_err(|error| Failure::file(out, &error))?;
    }
    session.output.say(&format!("written to {}", out.display()))
}

/// Size and SHA-256 of a file.
pub(super) fn digest(path: &Path) -> Result<(u64, [u8; 32]), Failure> {
    let mut source = File::open(path).map_err(|error| Failure::file(path, &error))?;
    let (mut hash, mut size, mut buffer) = (Sha256::new(), 0, vec![0; CHUNK]);
    loop {
        let count = source
            .read(&mut buffer)
            .map_err(|error| Failure::file(path, &error))?;
        if count == 0 {
            return Ok((size, hash.finalize().into()));
        }
        hash.update(&buffer[..count]);
        size += count as u64;
    }
}

fn parts(
    path: PathBuf,
    start: u64,
    (project, attachment_id): (String, String),
) -> Result<impl stream::Stream<Item = UploadPartsRequest> + Send + 'static, Failure> {
    let mut source = File::open(&path).map_err(|error| Failure::file(&path, &error))?;
    let size = source
        .metadata()
        .map_err(|error| Failure::file(&path, &error))?
        .len();
    source
        .seek(SeekFrom::Start(start))
        .map_err(|error| Failure::file(&path, &error))?;
    let bar = progress::bytes(size, "storing");
    bar.set_position(start);
    let mut first = Some((project, attachment_id));
    let mut offset = start;
    Ok(stream::iter(std::iter::from_fn(move || {
        let mut buffer = vec![0; CHUNK];
        let count = source
            .read(&mut buffer)
            .ok()
            .filter(|count| *count > 0 || first.is_some())?;
        buffer.truncate(count);
        let (project, attachment_id) = first.take().unwrap_or_default();
        let offset_bytes = i64::try_from(offset).unwrap_or(i64::MAX);
        offset += count as u64;
        bar.set_position(offset);
        Some(UploadPartsRequest {
            project,
            attachment_id,
            offset_bytes,
            data: Bytes::from(buffer),
        })
    })))
}
