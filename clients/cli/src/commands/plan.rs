//! Plans: checked, and stored from their TOML files.

use std::path::Path;

use clap::ArgMatches;
use obvert_proto::closeout::v1::{
    CheckPlanRequest, CreateRecordRequest, Plan, PlanFault, Record,
    closeout_service_client::CloseoutServiceClient, record::Body,
};
use serde_json::json;

use super::{Session, file, read_text, text, write};
use crate::{Exit, Failure};

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
    let path = file(given, "file")?;
    let source = read_text(path)?;
    let head = head_of(&source);
    let plan = Plan {
        title: head[0].clone(),
        owner: head[1].clone(),
        plan_revision: head[2].clone(),
        source,
    };
    let request = CreateRecordRequest {
        write: Some(write::envelope(given)),
        project: text(given, "project").to_owned(),
        record_id: text(given, "id").to_owned(),
        record: Some(Record {
            meta: None,
            body: Some(Body::Plan(plan)),
        }),
    };
    let mut client = CloseoutServiceClient::new(session.channel.clone());
    let meta = client
        .create_record(request)
        .await?
        .into_inner()
        .meta
        .unwrap_or_default();
    session
        .output
        .say(&format!("{}@{}", meta.name, meta.revision))
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
