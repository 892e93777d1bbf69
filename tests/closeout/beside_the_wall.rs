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
        full,
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

/// The clean segment under a plan that asks for the wall under pressure, and a design for it that asks
/// for a wall.
fn under_pressure(required_wall_thickness_mm: f64) -> (Fixture, PressureDesign) {
    let fixture = asking("pressure-wall");
    let pressure = PressureDesign {
        segment: SEGMENT.into(),
        design: fixture.file().design().unwrap().name.clone(),
        result: Some(PressureResult {
            required_wall_thickness_mm,
            ..PressureResult::default()
        }),
        ..PressureDesign::default()
    };
    (fixture, pressure)
}

const PRESSURE: &str = "pressureDesigns/x-1";

#[test]
fn pressure_is_released_by_an_order_of_the_wall_that_both_pipes_ask_for() {
    let (mut fixture, pressure) = under_pressure(1.0);
    held_in(&fixture, POINT, "missing-pressure-design", "");
    fixture.add(PRESSURE, pressure);
    released(&fixture);
    let mut total = fixture.clone();
    total.edit("orders/o-1", |order: &mut LinerOrder| {
        let wall = order.wall.as_mut().unwrap();
        wall.set_basis(ThicknessBasis::TotalWithFilms);
    });
    held_in(&total, POINT, "thickness-basis-differs", PRESSURE);
    held_in(&total, POINT, "thickness-basis-differs", "orders/o-1");
    let (mut thin, pressure) = under_pressure(40.0);
    thin.add(PRESSURE, pressure);
    held_in(&thin, POINT, "wall-too-thin-for-pressure", PRESSURE);
    held_in(&thin, POINT, "wall-too-thin-for-pressure", "orders/o-1");
}

#[test]
fn a_pressure_design_holds_by_what_it_found_and_for_want_of_what_it_rests_on() {
    let (fixture, pressure) = under_pressure(1.0);
    let with = |change: fn(&mut PressureDesign)| {
        let (mut fixture, mut pressure) = (fixture.clone(), pressure.clone());
        change(&mut pressure);
        fixture.add(PRESSURE, pressure);
        fixture
    };
    let found = with(|pressure| {
        let result = pressure.result.as_mut().unwrap();
        result.findings = holding("pressure-above-strength");
    });
    held_in(&found, POINT, "pressure-above-strength", PRESSURE);
    let empty = with(|pressure| pressure.result = None);
    held_in(&empty, POINT, "no-result", PRESSURE);
    let elsewhere = with(|pressure| pressure.design = full("designs/none"));
    held_in(&elsewhere, POINT, "missing-wall-design", "");
    let mut unordered = with(|_| {});
    released(&unordered);
    unordered.remove("orders/o-1");
    held_in(&unordered, POINT, "missing-liner-order", "");
    let mut second = with(|_| {});
    let mut thicker = pressure.clone();
    let result = thicker.result.as_mut().unwrap();
    result.required_wall_thickness_mm = 40.0;
    second.add("pressureDesigns/x-2", thicker);
    let code = "wall-too-thin-for-pressure";
    held_in(&second, POINT, code, "pressureDesigns/x-2");
}
