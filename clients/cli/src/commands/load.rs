//! Writes records from a file of JSON, one a row: `{"id": "...", "observedTime": "...", "liner": {...}}`.

use clap::ArgMatches;
use obvert_proto::{common::v1::Write, counted};
use serde_json::Value;
use sha2::{Digest, Sha256};

use super::{Session, file, parse_message, read_text, record::create_body, text, write};
use crate::{
    Failure,
    nouns::{Noun, noun_of_field},
    progress,
};

/// Keys of a row besides the kind.
const OWN_KEYS: [&str; 3] = ["id", "observedTime", "reason"];

/// Reads every row before it writes the first, so that a typing mistake writes nothing. Rows are
/// written one by one: a refused row names itself, and the same file can be loaded again, since each
/// row's request id is made from its content.
pub(crate) async fn load(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let path = file(given, "file")?;
    let source = read_text(path)?;
    let project = text(given, "project");
    let base = write::envelope(given);
    let mut rows = Vec::new();
    let mut wrong = Vec::new();
    for (number, text) in source
        .lines()
        .enumerate()
        .filter(|(_, text)| !text.trim().is_empty())
    {
        match read_row(text) {
            Ok(row) => rows.push((number + 1, text, row)),
            Err(what) => wrong.push((format!("{} row {}", path.display(), number + 1), what)),
        }
    }
    if !wrong.is_empty() {
        let rows = counted(wrong.len(), "row", "rows");
        let message = format!("{rows} cannot be read; nothing was written");
        return Err(Failure {
            places: wrong,
            ..Failure::data(path.display(), message)
        });
    }
    let bar = progress::steps(rows.len() as u64, "writing records");
    for (number, text, row) in &rows {
        let digest = Sha256::digest(format!("{project}\n{text}"));
        let short: String = digest
            .iter()
            .take(12)
            .map(|byte| format!("{byte:02x}"))
            .collect();
        let write = Write {
            request_id: format!("load-{short}"),
            reason: row.reason.clone(),
            observed_time: row.observed_time,
            ..base.clone()
        };
        let body = parse_message(&row.body, &row.noun.message);
        let body =
            body.map_err(|error| Failure::data(format!("{} row {number}", path.display()), error))?;
        let written = create_body(session, &row.noun, (project, &row.id), body, &write).await;
        written.map_err(|failure| Failure {
            message: format!(
                "{} row {number} ({}/{}): {}; the rows before it are written",
                path.display(),
                row.noun.collection,
                row.id,
                failure.message
            ),
            ..failure
        })?;
        bar.inc(1);
    }
    bar.finish_and_clear();
    session.output.say(&format!(
        "{}: {} written",
        path.display(),
        counted(rows.len(), "record", "records")
    ))
}

struct Row {
    id: String,
    reason: String,
    observed_time: Option<prost_types::Timestamp>,
    noun: Noun,
    body: String,
}

fn read_row(text: &str) -> Result<Row, String> {
    let value: Value = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let object = value.as_object().ok_or("is no JSON object")?;
    let string = |key: &str| {
        object
            .get(key)
            .and_then(Value::as_str)
            .unwrap_or_default()
            .to_owned()
    };
    let mut kinds = object
        .iter()
        .filter(|(key, _)| !OWN_KEYS.contains(&key.as_str()));
    let (field, body) = kinds.next().ok_or("has no record")?;
    if let Some((other, _)) = kinds.next() {
        return Err(format!(
            "has both {field} and {other}: write one record a row"
        ));
    }
    let noun = noun_of_field(field).ok_or_else(|| format!("{field} is no kind of record"))?;
    let body = body.to_string();
    parse_message(&body, &noun.message)?;
    let observed_time = match string("observedTime") {
        text if text.is_empty() => None,
        text => {
            let time: jiff::Timestamp = text
                .parse()
                .map_err(|error| format!("observedTime {text}: {error}"))?;
            Some(obvert_proto::dates::from_unix_ms(time.as_millisecond()))
        }
    };
    Ok(Row {
        id: string("id"),
        reason: string("reason"),
        observed_time,
        noun,
        body,
    })
}
