//! Walls worked out as they come, in one stream.

use futures::stream;
use obvert_proto::design::v1::{
    CheckWallsRequest, CheckWallsResponse, HostCondition, WallInputs, check_walls_response::Outcome,
};
use tonic::Streaming;

use super::{
    design::{check, designs, najafi},
    store::Store,
};

async fn answers(rows: Vec<CheckWallsRequest>) -> Vec<CheckWallsResponse> {
    let store = Store::empty().await;
    let mut answered: Streaming<_> = designs(&store)
        .check_walls(stream::iter(rows))
        .await
        .unwrap()
        .into_inner();
    let mut all = Vec::new();
    while let Some(answer) = answered.message().await.unwrap() {
        all.push(answer);
    }
    all
}

fn row(row_number: i64, inputs: Option<WallInputs>) -> CheckWallsRequest {
    CheckWallsRequest { row_number, inputs }
}

#[tokio::test]
async fn each_row_is_answered_in_order_as_a_single_call_would() {
    let full = najafi(HostCondition::FullyDeteriorated);
    let partial = najafi(HostCondition::PartiallyDeteriorated);
    let rows = vec![
        row(7, Some(full.clone())),
        row(7, Some(partial.clone())),
        row(-3, Some(full)),
    ];
    let answers = answers(rows).await;
    let numbers: Vec<i64> = answers.iter().map(|answer| answer.row_number).collect();
    assert_eq!(numbers, [7, 7, -3]);
    let alone = check(partial).await.unwrap();
    assert_eq!(answers[1].outcome, Some(Outcome::Result(alone)));
    assert_eq!(answers[0].outcome, answers[2].outcome);
}

#[tokio::test]
async fn inputs_that_cannot_be_taken_are_answered_and_never_end_the_stream() {
    let good = najafi(HostCondition::FullyDeteriorated);
    let mut fraction = good.clone();
    fraction.ovality_percent = 0.02;
    fraction.thickness_basis = 0;
    let mut flooded = good.clone();
    flooded.sections[0].groundwater_above_crown_m = 16.0;
    let mut endless = good.clone();
    endless.soil_modulus_mpa = f64::NAN;
    let rows = vec![
        row(1, Some(fraction)),
        row(2, None),
        row(3, Some(flooded)),
        row(4, Some(endless)),
        row(5, Some(good)),
    ];
    let answers = answers(rows).await;
    let wrong = |place: usize| match &answers[place].outcome {
        Some(Outcome::Refused(refused)) => refused.wrong.clone(),
        other => panic!("row {} was answered with {other:?}", place + 1),
    };
    let names = |place: usize, field: &str, part: &str| {
        let all = wrong(place);
        let found = all.iter().find(|one| one.field == field);
        let found = found.unwrap_or_else(|| panic!("{field} is not in {all:?}"));
        assert!(found.message.contains(part), "{}", found.message);
    };
    names(0, "inputs.ovality_percent", "looks like a fraction");
    names(0, "inputs.thickness_basis", "missing");
    names(1, "inputs.host_condition", "missing");
    names(
        2,
        "inputs.sections[0].groundwater_above_crown_m",
        "above the ground",
    );
    names(3, "inputs.soil_modulus_mpa", "allowed is 0.3 to 30 MPa");
    assert!(matches!(answers[4].outcome, Some(Outcome::Result(_))));
}
