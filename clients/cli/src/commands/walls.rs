//! Many walls worked out in one stream: a file of inputs, or all designs of a project.

use clap::ArgMatches;
use futures::stream;
use obvert_proto::{
    common::v1::ListRecordsRequest,
    counted,
    design::v1::{
        CheckWallsRequest, WallInputs, WallResult, check_walls_response::Outcome,
        design_service_client::DesignServiceClient, record::Body,
    },
    pool,
};
use prost::Name;
use serde_json::{Value, json};

use super::{Session, file, parse_message, read_text, text};
use crate::{Exit, Failure, connection::Keyed};

/// What a row is called, its inputs or why they cannot be read, and the wall stored with it.
struct Row {
    called: String,
    inputs: Result<WallInputs, String>,
    stored: Option<WallResult>,
}

pub(crate) async fn check_all(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let mut client = DesignServiceClient::new(session.channel.clone());
    let rows = match text(given, "project") {
        "" => rows_of_file(given)?,
        project => rows_of_project(&mut client, project).await?,
    };
    let mut answers: Vec<Option<Outcome>> = rows.iter().map(|_| None).collect();
    let readable = rows.iter().enumerate().filter_map(|(index, row)| {
        Some(CheckWallsRequest {
            row_number: i64::try_from(index).ok()?,
            inputs: Some(row.inputs.as_ref().ok()?.clone()),
        })
    });
    let asked = stream::iter(readable.collect::<Vec<_>>());
    let mut answered = client.check_walls(asked).await?.into_inner();
    while let Some(answer) = answered.message().await? {
        let place = usize::try_from(answer.row_number).ok();
        if let Some(place) = place.and_then(|place| answers.get_mut(place)) {
            *place = answer.outcome;
        }
    }
    let mut refused = 0;
    let mut table = Vec::new();
    for (row, outcome) in rows.iter().zip(answers) {
        match (&row.inputs, outcome) {
            (Ok(_), Some(Outcome::Result(result))) if session.output.is_json() => {
                session.output.json(&as_json(row, &result))?;
            }
            (Ok(_), Some(Outcome::Result(result))) => table.push(as_row(row, &result)),
            (inputs, outcome) => {
                refused += 1;
                refuse(session, row, wrong(inputs, outcome), &mut table)?;
            }
        }
    }
    if !session.output.is_json() {
        let head = ["row", "required", "order", "by", "beside the stored one"];
        session.output.table(&head, &table)?;
        session.output.say("A licensed engineer decides.")?;
    }
    if refused == 0 {
        return Ok(());
    }
    let rows = counted(rows.len(), "row is", "rows are");
    let message = format!("{refused} of {rows} refused");
    Err(Failure::new(Exit::DataInvalid, message))
}

fn rows_of_file(given: &ArgMatches) -> Result<Vec<Row>, Failure> {
    let source = read_text(file(given, "file")?)?;
    let shape = pool().get_message_by_name(&WallInputs::full_name());
    let unread = || Failure::new(Exit::Failure, "the schema has no wall inputs");
    let shape = shape.ok_or_else(unread)?;
    let read = |text: &str| {
        let message = parse_message(text, &shape)?;
        message.transcode_to().map_err(|error| error.to_string())
    };
    let filled = source.lines().enumerate();
    let filled = filled.filter(|(_, text)| !text.trim().is_empty());
    let row = |(index, text): (usize, &str)| Row {
        called: (index + 1).to_string(),
        inputs: read(text),
        stored: None,
    };
    Ok(filled.map(row).collect())
}

async fn rows_of_project(
    client: &mut DesignServiceClient<Keyed>,
    project: &str,
) -> Result<Vec<Row>, Failure> {
    let mut request = ListRecordsRequest {
        project: project.to_owned(),
        page_size: 1_000,
        collection: "designs".to_owned(),
        ..ListRecordsRequest::default()
    };
    let mut rows = Vec::new();
    loop {
        let page = client.list_records(request.clone()).await?.into_inner();
        rows.extend(page.records.into_iter().filter_map(|record| {
            let Some(Body::WallDesign(design)) = record.body else {
                return None;
            };
            Some(Row {
                called: record.meta.map_or_else(String::new, |meta| meta.name),
                inputs: design.inputs.ok_or_else(|| "has no inputs".to_owned()),
                stored: design.result,
            })
        }));
        if page.next_page_token.is_empty() {
            return Ok(rows);
        }
        request.page_token = page.next_page_token;
        request.revision = page.revision;
    }
}

fn as_json(row: &Row, result: &WallResult) -> Value {
    json!({
        "row": row.called,
        "governingCheck": result.governing_check,
        "governingStationM": result.governing_station_m,
        "requiredWallThicknessMm": result.required_wall_thickness_mm,
        "orderWallThicknessMm": result.order_wall_thickness_mm,
        "storedOrderWallThicknessMm":
            row.stored.as_ref().map(|stored| stored.order_wall_thickness_mm),
    })
}

fn as_row(row: &Row, result: &WallResult) -> Vec<String> {
    let beside = row.stored.as_ref().map_or("", |stored| {
        if stored.order_wall_thickness_mm == result.order_wall_thickness_mm {
            "same"
        } else {
            "DIFFERS"
        }
    });
    vec![
        row.called.clone(),
        format!("{:.3} mm", result.required_wall_thickness_mm),
        format!("{:.2} mm", result.order_wall_thickness_mm),
        result.governed_by(),
        beside.to_owned(),
    ]
}

fn wrong(inputs: &Result<WallInputs, String>, outcome: Option<Outcome>) -> Vec<(String, String)> {
    match (inputs, outcome) {
        (Err(what), _) => vec![("row".to_owned(), what.clone())],
        (Ok(_), Some(Outcome::Refused(refused))) => {
            let wrong = refused.wrong.into_iter();
            wrong.map(|one| (one.field, one.message)).collect()
        }
        _ => vec![("row".to_owned(), "was not answered".to_owned())],
    }
}

fn refuse(
    session: &Session,
    row: &Row,
    wrong: Vec<(String, String)>,
    table: &mut Vec<Vec<String>>,
) -> Result<(), Failure> {
    if session.output.is_json() {
        let wrong: Vec<_> = wrong
            .iter()
            .map(|(field, message)| json!({"field": field, "message": message}))
            .collect();
        return session
            .output
            .json(&json!({"row": row.called, "wrong": wrong}));
    }
    for (field, message) in wrong {
        let called = row.called.clone();
        let said = format!("{field} {message}");
        table.push(vec![
            called,
            "refused".to_owned(),
            String::new(),
            String::new(),
            said,
        ]);
    }
    Ok(())
}
