//! A wall worked out without storing it, and the calculation sheet of a stored record.

use std::io::Write as _;

use clap::ArgMatches;
use obvert_proto::{
    common::v1::ThicknessBasis,
    design::v1::{
        CheckWallRequest, GetCalculationSheetRequest, SheetFormat, WallInputs, WallResult,
        design_service_client::DesignServiceClient,
    },
    pool,
};
use prost::Name;
use prost_reflect::DynamicMessage;
use serde_json::Value;

use super::{Session, file, read_message, text};
use crate::{Exit, Failure};

pub(crate) async fn check(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let unread = |error: String| Failure::new(Exit::Failure, error);
    let shape = pool().get_message_by_name(&WallInputs::full_name());
    let shape = shape.ok_or_else(|| unread("the schema has no wall inputs".to_owned()))?;
    let inputs = read_message(file(given, "file")?, &shape)?;
    let inputs: WallInputs = inputs
        .transcode_to()
        .map_err(|error| unread(error.to_string()))?;
    let basis = inputs.thickness_basis();
    let request = CheckWallRequest {
        inputs: Some(inputs),
        with_sensitivities: true,
    };
    let mut client = DesignServiceClient::new(session.channel.clone());
    let result = client
        .check_wall(request)
        .await?
        .into_inner()
        .result
        .unwrap_or_default();
    if session.output.is_json() {
        return session
            .output
            .json(&as_json(&result, basis).map_err(unread)?);
    }
    let rows: Vec<_> = result
        .checks
        .iter()
        .map(|check| {
            let wall = check.wall_thickness_mm.map_or_else(
                || format!("does not apply: {}", check.not_applicable_reason),
                |wall| format!("{wall:.3} mm"),
            );
            let station = format!("{:.1} m", check.station_m);
            vec![
                check.equation.clone(),
                check.title.clone(),
                station,
                wall,
                check.source.clone(),
            ]
        })
        .collect();
    session
        .output
        .table(&["equation", "check", "station", "wall", "source"], &rows)?;
    for finding in &result.findings {
        session.output.say(&format!("Note: {}", finding.message))?;
    }
    let station = match result.governing_check.as_str() {
        WallResult::OWNER_MINIMUM => String::new(),
        _ => format!(" at station {:.1} m", result.governing_station_m),
    };
    session.output.say(&format!(
        "required {:.3} mm by {}{station}, order {:.2} mm, {}. A licensed engineer decides.",
        result.required_wall_thickness_mm,
        result.governed_by(),
        result.order_wall_thickness_mm,
        basis.word()
    ))
}

/// The whole result, with what its walls count.
fn as_json(result: &WallResult, basis: ThicknessBasis) -> Result<Value, String> {
    let shape = pool().get_message_by_name(&WallResult::full_name());
    let mut message = DynamicMessage::new(shape.ok_or("the schema has no wall result")?);
    message
        .transcode_from(result)
        .map_err(|error| error.to_string())?;
    let mut value = serde_json::to_value(&message).map_err(|error| error.to_string())?;
    value["thicknessBasis"] = basis.as_str_name().into();
    Ok(value)
}

/// Writes the calculation sheet of a record to a new file.
pub(crate) async fn sheet(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let format = match given.get_flag("html") {
        true => SheetFormat::Html,
        false => SheetFormat::Pdf,
    };
    let request = GetCalculationSheetRequest {
        name: text(given, "name").to_owned(),
        revision: given
            .get_one::<i64>("revision")
            .copied()
            .unwrap_or_default(),
        format: format.into(),
        with_us_units: given.get_flag("us-units"),
    };
    let path = file(given, "out")?;
    let mut client = DesignServiceClient::new(session.channel.clone());
    let sheet = client.get_calculation_sheet(request).await?.into_inner();
    let mut target =
        std::fs::File::create_new(path).map_err(|error| Failure::file(path, &error))?;
    let written = target
        .write_all(&sheet.data)
        .and_then(|()| target.sync_all());
    written.map_err(|error| Failure::file(path, &error))?;
    let record = sheet.record.unwrap_or_default();
    let (name, revision) = (record.name, record.revision);
    session
        .output
        .say(&format!("{}: {name}@{revision}", path.display()))
}
