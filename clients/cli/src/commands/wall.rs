//! A wall worked out without storing it, and the calculation sheet of a stored one.

use std::io::Write as _;

use clap::ArgMatches;
use obvert_proto::{
    design::v1::{
        CheckWallRequest, GetCalculationSheetRequest, SheetFormat, WallInputs,
        design_service_client::DesignServiceClient,
    },
    pool,
};
use prost::Name;

use super::{Session, file, read_message, text};
use crate::{Exit, Failure};

pub(crate) async fn check(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let unread = |error: String| Failure::new(Exit::Failure, error);
    let shape = pool().get_message_by_name(&WallInputs::full_name());
    let shape = shape.ok_or_else(|| unread("the schema has no wall inputs".to_owned()))?;
    let inputs = read_message(file(given, "file")?, &shape)?;
    let inputs = inputs
        .transcode_to()
        .map_err(|error| unread(error.to_string()))?;
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
        return session.output.json(&serde_json::json!({
            "governingCheck": result.governing_check,
            "governingStationM": result.governing_station_m,
            "requiredWallThicknessMm": result.required_wall_thickness_mm,
            "orderWallThicknessMm": result.order_wall_thickness_mm,
        }));
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
    let about = result
        .findings
        .iter()
        .filter(|finding| finding.code == "hangs-on-assumption");
    for finding in about {
        session.output.say(&finding.message)?;
    }
    session.output.say(&format!(
        "required {:.3} mm by {}, order {:.2} mm. A licensed engineer decides.",
        result.required_wall_thickness_mm, result.governing_check, result.order_wall_thickness_mm
    ))
}

/// Writes the calculation sheet of a design to a new file.
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
