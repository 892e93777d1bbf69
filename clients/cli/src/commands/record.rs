//! The verbs that every kind has.

use clap::ArgMatches;
use prost_reflect::{DynamicMessage, MethodDescriptor, Value};

use super::{Session, file, read_message, text, write};
use crate::{
    Exit, Failure,
    call::{message, unary},
    nouns::Noun,
    output::value_of,
};

pub(crate) async fn get(session: &Session, noun: &Noun, given: &ArgMatches) -> Result<(), Failure> {
    let record = read(session, noun, text(given, "name"), revision(given)).await?;
    session.output.message(&record)
}

pub(crate) async fn list(
    session: &Session,
    noun: &Noun,
    given: &ArgMatches,
) -> Result<(), Failure> {
    if noun.collection == "projects" {
        let method = verb(noun, "ListProjects")?;
        let answer = unary(&session.channel, &method, request(&method, [])).await?;
        return show(session, noun, &records_of(&answer, "projects"));
    }
    let method = verb(noun, "ListRecords")?;
    let (mut records, mut token) = (Vec::new(), String::new());
    loop {
        let fields = [
            ("project", Value::String(text(given, "project").to_owned())),
            ("collection", Value::String(noun.collection.clone())),
            (
                "refers_to",
                Value::String(text(given, "refers-to").to_owned()),
            ),
            ("revision", Value::I64(revision(given))),
            ("page_size", Value::I32(1_000)),
            ("page_token", Value::String(token)),
        ];
        let answer = unary(&session.channel, &method, request(&method, fields)).await?;
        records.extend(records_of(&answer, "records"));
        token = string(&answer, "next_page_token");
        if token.is_empty() {
            break;
        }
    }
    show(session, noun, &records)
}

pub(crate) async fn history(
    session: &Session,
    noun: &Noun,
    given: &ArgMatches,
) -> Result<(), Failure> {
    let method = verb(noun, "ListRevisions")?;
    let (mut records, mut token) = (Vec::new(), String::new());
    loop {
        let fields = [
            ("name", Value::String(text(given, "name").to_owned())),
            ("page_size", Value::I32(1_000)),
            ("page_token", Value::String(token)),
        ];
        let answer = unary(&session.channel, &method, request(&method, fields)).await?;
        records.extend(records_of(&answer, "records"));
        token = string(&answer, "next_page_token");
        if token.is_empty() {
            break;
        }
    }
    show(session, noun, &records)
}

pub(crate) async fn create(
    session: &Session,
    noun: &Noun,
    given: &ArgMatches,
) -> Result<(), Failure> {
    let body = read_message(file(given, "file")?, &noun.message)?;
    let id = text(given, "id");
    let at = (
        if noun.collection == "projects" {
            id
        } else {
            text(given, "project")
        },
        id,
    );
    let answer = create_body(session, noun, at, body, &write::envelope(given)).await?;
    written(session, &answer)
}

/// Writes one new record.
pub(crate) async fn create_body(
    session: &Session,
    noun: &Noun,
    (project, id): (&str, &str),
    body: DynamicMessage,
    write: &obvert_proto::common::v1::Write,
) -> Result<DynamicMessage, Failure> {
    let method = verb(noun, "CreateRecord")?;
    let fields = [
        ("write", write::value(write)),
        ("project", Value::String(project.to_owned())),
        ("record_id", Value::String(id.to_owned())),
        ("record", record_value(noun, body)),
    ];
    unary(&session.channel, &method, request(&method, fields)).await
}

pub(crate) async fn revise(
    session: &Session,
    noun: &Noun,
    given: &ArgMatches,
) -> Result<(), Failure> {
    let body = read_message(file(given, "file")?, &noun.message)?;
    let name = text(given, "name");
    let mut write = write::envelope(given);
    write.etag = match text(given, "etag") {
        "" => meta(&read(session, noun, name, 0).await?, "etag"),
        etag => etag.to_owned(),
    };
    let method = verb(noun, "ReviseRecord")?;
    let fields = [
        ("write", write::value(&write)),
        ("name", Value::String(name.to_owned())),
        ("record", record_value(noun, body)),
    ];
    let answer = unary(&session.channel, &method, request(&method, fields)).await?;
    written(session, &answer)
}

/// Says what was written.
pub(crate) fn written(session: &Session, answer: &DynamicMessage) -> Result<(), Failure> {
    if session.output.is_json() {
        return session.output.message(answer);
    }
    match meta(answer, "revision").as_str() {
        "" => session.output.say(&format!(
            "{} can be written; nothing was",
            meta(answer, "name")
        )),
        revision => session
            .output
            .say(&format!("{}@{revision}", meta(answer, "name"))),
    }
}

pub(crate) fn verb(noun: &Noun, name: &str) -> Result<MethodDescriptor, Failure> {
    let missing = || Failure::new(Exit::Usage, format!("{} has no {name}", noun.word));
    noun.method(name).ok_or_else(missing)
}

pub(crate) fn request(
    method: &MethodDescriptor,
    fields: impl IntoIterator<Item = (&'static str, Value)>,
) -> DynamicMessage {
    message(DynamicMessage::new(method.input()), fields)
}

async fn read(
    session: &Session,
    noun: &Noun,
    name: &str,
    revision: i64,
) -> Result<DynamicMessage, Failure> {
    let method = verb(noun, "GetRecord")?;
    let fields = [
        ("name", Value::String(name.to_owned())),
        ("revision", Value::I64(revision)),
    ];
    unary(&session.channel, &method, request(&method, fields)).await
}

fn record_value(noun: &Noun, body: DynamicMessage) -> Value {
    let mut record = DynamicMessage::new(noun.record.clone());
    let _ = record.try_set_field_by_name(&noun.field, Value::Message(body));
    Value::Message(record)
}

fn show(session: &Session, noun: &Noun, records: &[DynamicMessage]) -> Result<(), Failure> {
    if session.output.is_json() {
        let values: Result<Vec<_>, _> = records.iter().map(value_of).collect();
        return session.output.json(&values?);
    }
    let row = |record: &DynamicMessage| {
        let time = meta(record, "commit_time");
        let cells = ["name", "revision", "principal", "reason"].map(|field| meta(record, field));
        let [name, revision, principal, reason] = cells;
        let id = name.rsplit('/').next().unwrap_or_default().to_owned();
        vec![id, revision, time, principal, reason]
    };
    let rows: Vec<_> = records.iter().map(row).collect();
    session
        .output
        .table(&[&noun.word, "revision", "written", "by", "reason"], &rows)
}

fn records_of(answer: &DynamicMessage, field: &str) -> Vec<DynamicMessage> {
    let list = answer.get_field_by_name(field);
    let items = list
        .as_ref()
        .and_then(|value| value.as_list())
        .unwrap_or_default();
    items
        .iter()
        .filter_map(|item| item.as_message().cloned())
        .collect()
}

fn string(answer: &DynamicMessage, field: &str) -> String {
    let value = answer.get_field_by_name(field);
    value
        .as_ref()
        .and_then(|value| value.as_str())
        .unwrap_or_default()
        .to_owned()
}

/// One field of a record's meta, as text; empty when absent.
pub(crate) fn meta(record: &DynamicMessage, field: &str) -> String {
    let meta = record.get_field_by_name("meta");
    let Some(meta) = meta.as_ref().and_then(|value| value.as_message()) else {
        return String::new();
    };
    match meta.get_field_by_name(field).as_deref() {
        Some(Value::String(text)) => text.clone(),
        Some(Value::I64(number)) if *number != 0 => number.to_string(),
        Some(Value::Message(time)) => value_of(time)
            .ok()
            .and_then(|value| value.as_str().map(str::to_owned))
            .unwrap_or_default(),
        _ => String::new(),
    }
}

fn revision(given: &ArgMatches) -> i64 {
    given
        .get_one::<i64>("revision")
        .copied()
        .unwrap_or_default()
}
