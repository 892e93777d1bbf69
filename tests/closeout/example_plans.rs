//! The example plans: each can be used, says where its limits come from, and releases a segment
//! that has all it asks for.

use std::collections::BTreeSet;

use obvert_closeout::plan::{LimitValue, Operator, ParameterValue, Point, parse};
use obvert_proto::{
    acceptance::v1::LeakTest,
    closeout::v1::PointState,
    common::v1::PaperGrade,
    project::v1::{AccessPermit, Document},
};

use super::{
    Fixture,
    fixture::{PLAN, SEGMENT, full, on},
    held_in, point,
};

/// An owner that asks for much.
pub(super) const STRICT: &str = include_str!("../../deploy/plans/ostervane.toml");
/// An owner that follows EN ISO 11296-4.
pub(super) const ISO: &str = include_str!("../../deploy/plans/hollinreed.toml");
/// Every file of the folder, and what it says.
pub(super) const PLANS: &[(&str, &str)] = &[
    ("hollinreed.toml", ISO),
    ("marrowby.toml", PLAN),
    ("ostervane.toml", STRICT),
];

/// The clean segment with what the plan asks for beyond the common one, under that plan.
pub(super) fn clean_under(plan: &str) -> Fixture {
    let mut fixture = Fixture::clean();
    fixture.plan = parse(plan).unwrap();
    // Half the fall of pressure in half the time: ASTM F1417-11a, Table 2.
    let drop = fixture.plan.limit("air_test_drop_kpa", Operator::AtMost);
    if drop.is_some_and(|drop| !drop.takes(6.88)) {
        fixture.edit("leakTests/t-1", |test: &mut LeakTest| {
            test.end_pressure_kpa = Some(20.7);
            test.required_time_s = Some(223.0);
        });
    }
    for id in ["p-1", "p-3"] {
        fixture.edit(
            &format!("accessPermits/{id}"),
            |permit: &mut AccessPermit| permit.before_photos = vec![full("attachments/before")],
        );
    }
    for point in fixture.plan.points.clone() {
        if point.evaluator == "evidence-present" {
            file_papers(&mut fixture, &point);
        }
    }
    fixture
}

fn file_papers(fixture: &mut Fixture, point: &Point) {
    let text = |name: &str| match point.parameter(name) {
        Some(ParameterValue::Text(text)) => text.clone(),
        _ => String::new(),
    };
    let subjects: Vec<String> = match text("subject").as_str() {
        "project" => vec!["projects/quillfern".into()],
        "runs" => vec![full("runs/r-1")],
        "orders" => vec![full("orders/o-1")],
        "crossed-parcels" => vec![full("parcels/p-1"), full("parcels/p-3")],
        "segment" => vec![SEGMENT.into()],
        other => panic!("{}: no papers for the subject {other}", point.id),
    };
    for (number, subject) in subjects.into_iter().enumerate() {
        let document = Document {
            evidence_kind: text("evidence_kind"),
            subjects: vec![subject],
            attachments: vec![full("attachments/paper")],
            title: point.title.clone(),
            issuer: "Copperbeck Utilities".into(),
            signed_by: "engineer".into(),
            signed_date: on("2026-04-01"),
            grade: PaperGrade::Direct.into(),
            ..Document::default()
        };
        fixture.add(&format!("documents/{}-{number}", point.id), document);
    }
}

#[test]
fn every_file_of_the_folder_is_tried_here() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../deploy/plans");
    let files = std::fs::read_dir(folder).unwrap();
    let mut files: Vec<_> = files
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    files.sort();
    let tried: Vec<_> = PLANS.iter().map(|(file, _)| *file).collect();
    assert_eq!(files, tried);
}

#[test]
fn every_example_plan_can_be_used() {
    for (file, text) in PLANS {
        let faults = parse(text).err().unwrap_or_default();
        assert!(faults.is_empty(), "{file}: {faults:?}");
    }
}

#[test]
fn no_limit_claims_a_standard_as_its_own_word_and_none_stands_unused() {
    for (file, text) in PLANS {
        let plan = parse(text).unwrap();
        let used: BTreeSet<_> = plan
            .points
            .iter()
            .filter_map(|point| obvert_closeout::hold_points::Evaluator::of(&point.evaluator))
            .flat_map(|evaluator| evaluator.limits.iter().map(|(parameter, _)| *parameter))
            .chain(["witness_notice_h"])
            .collect();
        for limit in &plan.limits {
            let parameter = &limit.parameter;
            assert!(!limit.source.contains("per ASTM"), "{file}: {parameter}");
            assert!(!limit.who_may_vary.is_empty(), "{file}: {parameter}");
            assert!(used.contains(parameter.as_str()), "{file}: {parameter}");
        }
    }
}

#[test]
fn acceptance_is_the_last_point_and_waits_for_every_other() {
    for (file, text) in PLANS {
        let plan = parse(text).unwrap();
        let (last, others) = plan.points.split_last().unwrap();
        assert_eq!(last.evaluator, "final-acceptance", "{file}");
        let others: BTreeSet<_> = others.iter().map(|point| &point.id).collect();
        let after: BTreeSet<_> = last.after.iter().collect();
        assert_eq!(after, others, "{file}");
    }
}

#[test]
fn the_clean_segment_is_accepted_under_every_example_plan() {
    for (file, text) in PLANS {
        let status = clean_under(text).signed();
        for point in &status.points {
            let (id, state) = (&point.point, point.state());
            assert_eq!(
                state,
                PointState::Released,
                "{file} {id}: {:?}",
                point.findings
            );
        }
        assert!(status.accepted, "{file}");
    }
}

#[test]
fn the_strict_owner_holds_what_the_common_one_takes() {
    let common = Fixture::clean();
    let mut strict = common.clone();
    strict.plan = parse(STRICT).unwrap();
    held_in(&strict, "leak-test", "air-test-drop-above", "leakTests/t-1");
    held_in(&strict, "bypass-plan", "missing-document", "");
    held_in(
        &strict,
        "right-of-entry",
        "before-photos-missing",
        "accessPermits/p-1",
    );
    let mut checked = clean_under(STRICT);
    checked.edit(
        "laboratoryReports/y-1",
        |report: &mut obvert_proto::acceptance::v1::LaboratoryReport| {
            report.wall_readings_mm = vec![3.6, 5.0, 4.7, 4.7, 4.7, 4.7];
        },
    );
    held_in(
        &checked,
        "measured-wall",
        "wall-reading-too-thin",
        "laboratoryReports/y-1",
    );
    checked.plan = parse(PLAN).unwrap();
    let status = checked.status();
    assert_eq!(
        point(&status, "measured-wall").state(),
        PointState::Released
    );
    // 85.7 percent of the wall asked for: above the 80 percent of the ISO rule.
    checked.plan = parse(ISO).unwrap();
    let status = checked.status();
    assert_eq!(
        point(&status, "measured-wall").state(),
        PointState::Released
    );
}

#[test]
fn the_iso_owner_asks_for_a_tight_laminate_and_no_test_in_the_field() {
    let mut fixture = clean_under(ISO);
    assert!(fixture.plan.point("leak-test").is_none());
    fixture.edit(
        "laboratoryReports/y-1",
        |report: &mut obvert_proto::acceptance::v1::LaboratoryReport| report.laminate_tight = None,
    );
    let status = fixture.status();
    assert_eq!(
        point(&status, "laboratory-report").state(),
        PointState::Held
    );
    let rule = fixture.plan.limit("wall_rule", Operator::Equal).unwrap();
    assert_eq!(rule.value, LimitValue::Word("iso".into()));
}
