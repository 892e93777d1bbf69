//! What an installed liner bears, worked out without storing it.

use std::path::{Path, PathBuf};

use clap::ArgMatches;
use obvert_proto::{
    design::v1::{
        AchievedSafety, AsBuiltInputs, AsBuiltResult, CheckAsBuiltRequest, WallInputs,
        design_service_client::DesignServiceClient,
    },
    pool,
};
use prost::{Message, Name};
use serde_json::json;

use super::{Session, file, read_message, text};
use crate::{Exit, Failure};

pub(crate) async fn check(session: &Session, given: &ArgMatches) -> Result<(), Failure> {
    let design_file = given.get_one::<PathBuf>("design-file");
    let design_inputs = design_file.map(|path| read::<WallInputs>(path));
    let request = CheckAsBuiltRequest {
        design: text(given, "design").to_owned(),
        design_inputs: design_inputs.transpose()?,
        inputs: Some(read::<AsBuiltInputs>(file(given, "file")?)?),
    };
    let mut client = DesignServiceClient::new(session.channel.clone());
    let answer = client.check_as_built(request).await?.into_inner();
    let result = answer.result.unwrap_or_default();
    let design = answer
        .design
        .map(|named| format!("{}@{}", named.name, named.revision));
    if session.output.is_json() {
        return session.output.json(&as_json(&result, design));
    }
    let rows: Vec<_> = result.checks.iter().map(as_row).collect();
    let head = [
        "equation",
        "station",
        "capacity",
        "demand",
        "reached",
        "asked for",
    ];
    session.output.table(&head, &rows)?;
    for finding in &result.findings {
        session.output.say(&finding.message)?;
    }
    let beside = design.unwrap_or_else(|| "inputs that were given".to_owned());
    session.output.say(&format!(
        "Beside {beside}. A licensed engineer disposes of what falls short."
    ))
}

fn read<M: Message + Name + Default>(path: &Path) -> Result<M, Failure> {
    let unread = |error: String| Failure::new(Exit::Failure, error);
    let shape = pool().get_message_by_name(&M::full_name());
    let shape = shape.ok_or_else(|| unread(format!("the schema has no {}", M::NAME)))?;
    let message = read_message(path, &shape)?;
    message
        .transcode_to()
        .map_err(|error| unread(error.to_string()))
}

fn as_row(check: &AchievedSafety) -> Vec<String> {
    vec![
        check.equation.clone(),
        format!("{:.1} m", check.station_m),
        format!("{:.5} MPa", check.capacity_mpa),
        format!("{:.5} MPa", check.demand_mpa),
        format!("{:.3}", check.achieved_safety_factor),
        format!("{}", check.required_safety_factor),
    ]
}

fn as_json(result: &AsBuiltResult, design: Option<String>) -> serde_json::Value {
    let check = |check: &AchievedSafety| {
        json!({"equation": check.equation, "stationM": check.station_m,
               "capacityMpa": check.capacity_mpa, "demandMpa": check.demand_mpa,
               "achievedSafetyFactor": check.achieved_safety_factor,
               "requiredSafetyFactor": check.required_safety_factor})
    };
    json!({
        "design": design,
        "checks": result.checks.iter().map(check).collect::<Vec<_>>(),
        "equivalentWallThicknessMm": result.equivalent_wall_thickness_mm,
        "requiredWallThicknessMm": result.required_wall_thickness_mm,
        "findings": result.findings.iter().map(|f| f.message.as_str()).collect::<Vec<_>>(),
    })
}
