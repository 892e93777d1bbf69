//! Import of a CSV file by a column map.

use bytes::Bytes;
use clap::ArgMatches;
use futures::stream;
use obvert_proto::{
    common::v1::{
        ImportTableHeader, ImportTableRequest, ImportTableResponse, import_table_request::Part,
    },
    counted,
};
use prost::Name;
use prost_reflect::DynamicMessage;

use super::{Session, file, file_name, read_text, record::verb, text, write};
use crate::{Exit, Failure, call::upload, nouns::Noun};

/// Bytes of one message.
const CHUNK: usize = 256 << 10;

pub(crate) async fn import(
    session: &Session,
    noun: &Noun,
    given: &ArgMatches,
) -> Result<(), Failure> {
    let path = file(given, "file")?;
    let table = std::fs::read(path).map_err(|error| Failure::file(path, &error))?;
    let header = ImportTableHeader {
        write: Some(write::envelope(given)),
        project: text(given, "project").to_owned(),
        collection: noun.collection.clone(),
        column_map: read_text(file(given, "map")?)?,
        file_name: file_name(path),
    };
    let table = Bytes::from(table);
    let parts = (0..table.len())
        .step_by(CHUNK)
        .map(|start| Part::Data(table.slice(start..(start + CHUNK).min(table.len()))));
    let method = verb(noun, "ImportTable")?;
    let shape = method.input();
    let requests: Vec<_> = std::iter::once(Part::Header(header))
        .chain(parts)
        .filter_map(|part| {
            let mut message = DynamicMessage::new(shape.clone());
            message
                .transcode_from(&ImportTableRequest { part: Some(part) })
                .ok()?;
            Some(message)
        })
        .collect();
    let answer = upload(&session.channel, &method, stream::iter(requests)).await?;
    if session.output.is_json() {
        return session.output.message(&answer);
    }
    let unread = |error| {
        Failure::new(
            Exit::Failure,
            format!("{}: {error}", ImportTableResponse::NAME),
        )
    };
    let answer: ImportTableResponse = answer.transcode_to().map_err(unread)?;
    let count = answer.names.len();
    let what = match answer.revision {
        0 => "can be written; nothing was".to_owned(),
        revision => format!("written at revision {revision}"),
    };
    let rows = counted(count, "record", "records");
    session.output.say(&format!(
        "{}: {rows} of {} {what}",
        path.display(),
        noun.collection
    ))
}
