//! Plans: checked, and stored from their TOML files.

use std::path::Path;

use clap::ArgMatches;
use obvert_proto::{
    closeout::v1::{
        CheckPlanRequest, CreateRecordRequest, Plan, PlanFault, Record, ReviseRecordRequest,
        closeout_service_client::CloseoutServiceClient, record::Body,
    },
    common::v1::GetRecordRequest,
};
use serde_json::json;

use super::{Session, file, known, read_text, record, text, write};
use crate::{Exit, Failure, output::value_of_known};

pub(crate) async fn check(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let path = file(given, "file")?;
    let request = CheckPlanRequest {
        source: read_text(path)?,
        project: text(given, "project").to_owned(),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let answer = client.check_plan(request).await?.into_inner();
    if session.output.is_json() {
        let fault = |fault: &PlanFault| json!({ "row": fault.row, "column": fault.column, "message": fault.message });
        let faults: Vec<_> = answer.faults.iter().map(fault).collect();
        session.output.json(
            &json!({ "faults": faults, "points": answer.points, "findings": answer.findings }),
        )?;
    }
    if answer.faults.is_empty() {
        for finding in &answer.findings {
            session.output.say(finding)?;
        }
        let count = answer.points.len();
        return session
            .output
            .say(&format!("{count} points; the plan can be used"));
    }
    Err(refused(path, answer.faults))
}

/// A plan that cannot be used, with the place of every fault.
pub(super) fn refused(path: &Path, faults: Vec<PlanFault>) -> Failure {
    let place = |row, column| format!("{} row {row} column {column}", path.display());
    let faults = faults
        .into_iter()
        .map(|f| (place(f.row, f.column), f.message));
    let message = format!("{}: the plan cannot be used", path.display());
    Failure {
        places: faults.collect(),
        ..Failure::new(Exit::DataInvalid, message)
    }
}

pub(crate) async fn add(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let request = CreateRecordRequest {
        write: Some(write::envelope(given)),
        project: text(given, "project").to_owned(),
        record_id: text(given, "id").to_owned(),
        record: Some(record_of(read_text(file(given, "file")?)?)),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    written(session, &client.create_record(request).await?.into_inner())
}

/// A new state of a plan, from its TOML file or from its record in JSON.
pub(crate) async fn revise(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let path = file(given, "file")?;
    let extension = path.extension().unwrap_or_default();
    if !extension.eq_ignore_ascii_case("toml") {
        return record::revise(session, &known("plan")?, given).await;
    }
    let source = read_text(path)?;
    let name = text(given, "name").to_owned();
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let mut write = write::envelope(given);
    write.etag = match text(given, "etag") {
        "" => {
            let latest = GetRecordRequest {
                name: name.clone(),
                revision: 0,
            };
            let latest = client.get_record(latest).await?.into_inner();
            latest.meta.unwrap_or_default().etag
        }
        etag => etag.to_owned(),
    };
    let request = ReviseRecordRequest {
        write: Some(write),
        name,
        record: Some(record_of(source)),
    };
    written(session, &client.revise_record(request).await?.into_inner())
}

/// Says what was written.
fn written(session: &Session, record: &Record) -> Result<(), Failure> {
    if session.output.is_json() {
        return session.output.json(&value_of_known(record)?);
    }
    let meta = record.meta.clone().unwrap_or_default();
    session.output.say(&match meta.revision {
        0 => format!("{} can be written; nothing was", meta.name),
        revision => format!("{}@{revision}", meta.name),
    })
}

/// Record of a plan's text.
fn record_of(source: String) -> Record {
    let [title, owner, plan_revision] = head_of(&source);
    let plan = Plan {
        title,
        owner,
        plan_revision,
        source,
    };
    Record {
        meta: None,
        body: Some(Body::Plan(plan)),
    }
}

/// Title, owner and revision as the plan's file states them; the server refuses a plan without.
fn head_of(source: &str) -> [String; 3] {
    let document: toml::Table = source.parse().unwrap_or_default();
    let head = document.get("plan").and_then(toml::Value::as_table);
    ["title", "owner", "revision"].map(|key| {
        let value = head
            .and_then(|head| head.get(key))
            .and_then(toml::Value::as_str);
        value.unwrap_or_default().to_owned()
    })
}
