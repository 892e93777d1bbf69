//! Points that read the checks beside the wall: capacity, pull-in, internal pressure. The strict
//! example plan asks for the first two; none asks for the last, since a gravity sewer has no pressure
//! design and the point would hold it.

use obvert_closeout::plan::parse;
use obvert_proto::{
    closeout::v1::PointState,
    common::v1::{Finding, ThicknessBasis},
    design::v1::{PressureDesign, PressureResult},
    material::v1::LinerOrder,
};

use super::{
    Fixture,
    fixture::{
        PLAN, SEGMENT,
        asked::{capacity, pull_in_check},
    },
    held_in, point,
};

const POINT: &str = "beside-the-wall";

fn asking(evaluator: &str) -> Fixture {
    let mut fixture = Fixture::clean();
    let point = format!(
        "[[point]]\nid = \"{POINT}\"\ntitle = \"Beside the wall\"\nstage = \"acceptance\"\n\
         class = \"review\"\nevaluator = \"{evaluator}\"\n"
    );
    fixture.plan = parse(&format!("{PLAN}\n{point}")).unwrap();
    fixture
}

#[track_caller]
fn released(fixture: &Fixture) {
    let status = fixture.status();
    let status = point(&status, POINT);
    let findings = &status.findings;
    assert_eq!(status.state(), PointState::Released, "{findings:?}");
}

fn holding(code: &str) -> Vec<Finding> {
    vec![Finding {
        code: code.into(),
        message: "what the check found".into(),
        holds: true,
        ..Finding::default()
    }]
}

#[test]
fn capacity_is_released_by_a_check_of_the_wall_ordered_that_loses_nothing() {
    let mut fixture = asking("lined-capacity");
    held_in(&fixture, POINT, "missing-hydraulic-check", "");
    fixture.add("hydraulicChecks/h-1", capacity(30.0, Vec::new()));
    released(&fixture);
    fixture.add("hydraulicChecks/h-1", capacity(0.5, Vec::new()));
    held_in(
        &fixture,
        POINT,
        "capacity-of-thinner-wall",
        "hydraulicChecks/h-1",
    );
    fixture.add(
        "hydraulicChecks/h-1",
        capacity(30.0, holding("capacity-lost")),
    );
    held_in(&fixture, POINT, "capacity-lost", "hydraulicChecks/h-1");
    let mut empty = capacity(30.0, Vec::new());
    empty.result = None;
    fixture.add("hydraulicChecks/h-1", empty);
    held_in(&fixture, POINT, "no-result", "hydraulicChecks/h-1");
}

#[test]
fn a_pull_in_is_released_by_a_check_of_its_own_liner_within_every_limit() {
    let mut fixture = asking("planned-pull-in");
    held_in(&fixture, POINT, "missing-pull-in-check", "");
    let liners = fixture.file().liner_names_in_force();
    let own = liners[0].replace("projects/quillfern/", "");
    fixture.add(
        "pullInChecks/p-1",
        pull_in_check("liners/of-another", Vec::new()),
    );
    held_in(&fixture, POINT, "missing-pull-in-check", "");
    fixture.add(
        "pullInChecks/p-1",
        pull_in_check(&own, holding("pull-force-above-allowed")),
    );
    held_in(
        &fixture,
        POINT,
        "pull-force-above-allowed",
        "pullInChecks/p-1",
    );
    fixture.add("pullInChecks/p-1", pull_in_check(&own, Vec::new()));
    released(&fixture);
}

#[test]
fn pressure_is_released_by_an_order_of_the_wall_that_both_pipes_ask_for() {
    let mut fixture = asking("pressure-wall");
    held_in(&fixture, POINT, "missing-pressure-design", "");
    let file = fixture.file();
    let design = file.design().unwrap().name.clone();
    let order = file.order_names_in_force().into_iter().next().unwrap();
    let order = order.replace("projects/quillfern/", "");
    let pressure = |required_wall_thickness_mm: f64| PressureDesign {
        segment: SEGMENT.into(),
        design: design.clone(),
        result: Some(PressureResult {
            required_wall_thickness_mm,
            ..PressureResult::default()
        }),
        ..PressureDesign::default()
    };
    fixture.add("pressureDesigns/x-1", pressure(1.0));
    released(&fixture);
    fixture.add("pressureDesigns/x-1", pressure(40.0));
    held_in(
        &fixture,
        POINT,
        "wall-too-thin-for-pressure",
        "pressureDesigns/x-1",
    );
    fixture.add("pressureDesigns/x-1", pressure(1.0));
    fixture.edit(&order, |order: &mut LinerOrder| {
        let wall = order.wall.as_mut().unwrap();
        wall.set_basis(ThicknessBasis::TotalWithFilms);
    });
    held_in(
        &fixture,
        POINT,
        "thickness-basis-differs",
        "pressureDesigns/x-1",
    );
}
