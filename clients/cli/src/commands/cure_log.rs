//! Filing of a cure log.

use bytes::Bytes;
use clap::ArgMatches;
use futures::stream;
use obvert_proto::{
    counted,
    installation::v1::{
        CureLogHeader, CureVerdict, ImportCureLogRequest, import_cure_log_request::Part,
        installation_service_client::InstallationServiceClient,
    },
};

use super::{Session, file, file_name, text, write};
use crate::{Failure, progress};

/// Bytes of one message.
const CHUNK: usize = 256 << 10;

pub(crate) async fn import(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let path = file(given, "file")?;
    let log = Bytes::from(std::fs::read(path).map_err(|error| Failure::file(path, &error))?);
    let run = text(given, "run").to_owned();
    let project = run.split('/').nth(1).unwrap_or_default().to_owned();
    let record_id = match text(given, "id") {
        "" => id_from(&file_name(path)),
        id => id.to_owned(),
    };
    let header = CureLogHeader {
        write: Some(write::envelope(given)),
        project,
        record_id,
        run,
        file_name: file_name(path),
        header: None,
        log_reader: text(given, "log-reader").to_owned(),
    };
    let bar = progress::bytes(log.len() as u64, "filing the cure log");
    let starts = (0..log.len()).step_by(CHUNK);
    let parts: Vec<_> = starts
        .map(|start| log.slice(start..(start + CHUNK).min(log.len())))
        .collect();
    let parts = parts.into_iter().map(move |data| {
        bar.inc(data.len() as u64);
        Part::Data(data)
    });
    let messages = std::iter::once(Part::Header(header)).chain(parts);
    let messages = messages.map(|part| ImportCureLogRequest { part: Some(part) });
    let mut client = InstallationServiceClient::new(session.channel.clone());
    let answer = client
        .import_cure_log(stream::iter(messages))
        .await?
        .into_inner();
    let meta = answer.meta.unwrap_or_default();
    let record = answer.cure_record.unwrap_or_default();
    let verdict = verdict_words(record.verdict());
    let figures = record.figures.unwrap_or_default();
    if session.output.is_json() {
        return session.output.json(&serde_json::json!({
            "name": meta.name, "revision": meta.revision, "rowCount": figures.row_count,
            "loggedLengthM": figures.logged_length_m, "verdict": verdict,
            "deviationCount": record.deviations.len(),
            "findings": record.findings.iter().map(|f| &f.message).collect::<Vec<_>>(),
        }));
    }
    session.output.say(&format!(
        "{}@{}: {}, {:.1} m, {verdict}",
        meta.name,
        meta.revision,
        counted(figures.row_count, "row", "rows"),
        figures.logged_length_m
    ))?;
    let deviations = record.deviations.iter().map(|deviation| &deviation.message);
    for sentence in record
        .findings
        .iter()
        .map(|finding| &finding.message)
        .chain(deviations)
    {
        session.output.say(&format!("  {sentence}"))?;
    }
    Ok(())
}

/// What the log's figures say, in the words that people are shown.
fn verdict_words(verdict: CureVerdict) -> &'static str {
    match verdict {
        CureVerdict::WithinTolerance => "within the entered tolerance",
        CureVerdict::OutsideTolerance => "outside the entered tolerance",
        CureVerdict::NoToleranceGiven => "no tolerance given",
        CureVerdict::DataUnfit => "data unfit",
        CureVerdict::Unspecified => "not judged",
    }
}

/// Record id from a file's name.
fn id_from(name: &str) -> String {
    let stem = name
        .rsplit_once('.')
        .map_or(name, |(stem, _)| stem)
        .to_lowercase();
    let plain = |c: char| {
        if c.is_ascii_lowercase() || c.is_ascii_digit() {
            c
        } else {
            '-'
        }
    };
    stem.chars().map(plain).collect()
}
