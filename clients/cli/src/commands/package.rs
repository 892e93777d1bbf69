//! Packages: assembled by the server, downloaded, verified offline.

use std::{
    fs::OpenOptions,
    io::{Seek, SeekFrom, Write as _},
    path::{Path, PathBuf},
};

use clap::ArgMatches;
use obvert_proto::closeout::v1::{
    AssemblePackageRequest, DownloadPackageRequest, Package,
    closeout_service_client::CloseoutServiceClient, record::Body,
};
use obvert_proto::common::v1::GetRecordRequest;

use super::{Session, file, text, write};
use crate::{
    Exit, Failure,
    output::{Output, plain},
    plain_file_name, progress, verify,
};

pub(crate) async fn assemble(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let segment = text(given, "segment").to_owned();
    let write = write::envelope(given);
    let validate_only = write.validate_only;
    let request = AssemblePackageRequest {
        write: Some(write),
        segment,
        with_people: given.get_flag("with-people"),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let mut answers = client.assemble_package(request).await?.into_inner();
    let bar = progress::steps(0, "assembling");
    let mut last_step = None;
    while let Some(answer) = answers.message().await? {
        bar.set_length(u64::try_from(answer.total_count).unwrap_or_default());
        bar.set_position(u64::try_from(answer.done_count).unwrap_or_default());
        bar.set_message(plain(&answer.step).into_owned());
        let (Some(meta), Some(package)) = (answer.meta, answer.package) else {
            last_step = Some(answer.step);
            continue;
        };
        bar.finish_and_clear();
        if session.output.is_json() {
            return session.output.json(&serde_json::json!({
                "name": meta.name, "revision": meta.revision, "fileName": package.file_name,
                "sizeBytes": package.size_bytes, "sha256": package.sha256,
                "signerFingerprint": package.signer_fingerprint,
            }));
        }
        let size = package.size_bytes;
        return session
            .output
            .say(&format!("{}@{}: {size} bytes", meta.name, meta.revision));
    }
    bar.finish_and_clear();
    match last_step {
        Some(step) if validate_only => session.output.say(&step),
        _ => Err(Failure::new(
            Exit::Failure,
            "the server ended the work without a package",
        )),
    }
}

pub(crate) async fn fetch(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let folder = given
        .get_one::<PathBuf>("out")
        .cloned()
        .unwrap_or_else(|| PathBuf::from("."));
    let name = text(given, "name").to_owned();
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let request = GetRecordRequest {
        name: name.clone(),
        revision: 0,
    };
    let record = client.get_record(request).await?.into_inner();
    let Some(Body::Package(package)) = record.body else {
        return Err(Failure::new(
            Exit::NotFound,
            format!("{name} is no package"),
        ));
    };
    let path = fetch_into(session, &name, &package, &folder).await?;
    session.output.say(&path.display().to_string())
}

/// Downloads a package into a folder, from where an earlier download broke off.
pub(super) async fn fetch_into(
    session: &Session,
    name: &str,
    package: &Package,
    folder: &Path,
) -> Result<PathBuf, Failure> {
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let file_name = plain_file_name(&package.file_name)?;
    let path = folder.join(file_name);
    let part = folder.join(format!("{file_name}.part"));
    let failed = |error: std::io::Error| Failure::file(&part, &error);
    std::fs::create_dir_all(folder).map_err(|error| Failure::file(folder, &error))?;
    let mut target = OpenOptions::new()
        .create(true)
        .append(true)
        .open(&part)
        .map_err(failed)?;
    let start = target.seek(SeekFrom::End(0)).map_err(failed)?;
    let offset_bytes = i64::try_from(start).unwrap_or_default();
    let bar = progress::bytes(
        u64::try_from(package.size_bytes).unwrap_or_default(),
        "downloading",
    );
    bar.set_position(start);
    let request = DownloadPackageRequest {
        name: name.to_owned(),
        offset_bytes,
    };
    let mut parts = client.download_package(request).await?.into_inner();
    while let Some(answer) = parts.message().await? {
        target.write_all(&answer.data).map_err(failed)?;
        bar.inc(answer.data.len() as u64);
    }
    bar.finish_and_clear();
    target.sync_all().map_err(failed)?;
    std::fs::rename(&part, &path).map_err(failed)?;
    Ok(path)
}

pub(crate) fn verify(given: &ArgMatches, output: Output) -> Result<(), Failure> {
    let path = file(given, "file")?;
    let key = given.get_one::<String>("key").map(String::as_str);
    let verified = verify::verify_file(path, key)?;
    if output.is_json() {
        return output.json(&verified);
    }
    output.say(&verified.to_string())
}
