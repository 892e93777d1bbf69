//! Surveys by their purpose, and lots given back: a test per way of failing.

use obvert_closeout::plan::parse;
use obvert_proto::{
    acceptance::v1::Survey,
    closeout::v1::{PointState, ReleaseKind},
    project::v1::{Document, Lateral, LateralState},
};

use super::{
    Fixture,
    fixture::{PLAN, asked, at, full, on},
    held_in, holding, point,
};

/// The clean segment under the owner's plan with one more point.
fn with_point(point: &str) -> Fixture {
    let mut fixture = Fixture::clean();
    let more = format!(
        "\n[[point]]\nid = \"more\"\ntitle = \"One more\"\nstage = \"acceptance\"\nclass = \
         \"review\"\nvaried_by = [\"owner\"]\n{point}\n"
    );
    fixture.plan = parse(&format!("{PLAN}{more}")).unwrap();
    fixture
}

/// The same where the survey before the lamps is the point's, begun at a time on 4 May.
fn pre_cure(time: &str) -> Fixture {
    let mut fixture =
        with_point("evaluator = \"survey-present\"\nparameters = { purpose = \"pre-cure\" }");
    fixture.edit("surveys/v-pre", |survey: &mut Survey| {
        survey.start_time = at(&format!("2026-05-04 {time}"));
        survey.sightings.clear();
    });
    fixture
}

#[test]
fn a_survey_of_the_purpose_must_be_there_whole_filmed_and_before_the_lamps() {
    let good = pre_cure("09:12");
    assert_eq!(point(&good.status(), "more").state(), PointState::Released);
    let mut missing = good.clone();
    missing.remove("surveys/v-pre");
    held_in(&missing, "more", "missing-cctv-survey", "");
    let mut part = good.clone();
    part.edit("surveys/v-pre", |survey: &mut Survey| {
        survey.complete = false
    });
    held_in(&part, "more", "survey-incomplete", "v-pre");
    let mut blind = good.clone();
    blind.edit("surveys/v-pre", |survey: &mut Survey| survey.media.clear());
    held_in(&blind, "more", "survey-without-film", "v-pre");
    let mut alone = good;
    alone.remove("runs/r-1");
    held_in(&alone, "more", "missing-run", "");
    held_in(&pre_cure("09:40"), "more", "survey-after-lamps", "v-pre");
}

/// Point of the common plan that asks for every lateral ticked off.
const TICKED: &str = "pre-cure-cctv";

#[test]
fn a_lateral_that_was_never_ticked_before_the_cure_holds_where_the_plan_asks_for_it() {
    let good = Fixture::clean();
    let status = good.status();
    assert_eq!(point(&status, TICKED).state(), PointState::Released);
    let count = good.file().laterals.len();
    assert!(count > 1);
    for number in 0..count {
        let mut unticked = good.clone();
        unticked.edit("surveys/v-pre", |survey: &mut Survey| {
            survey.sightings.remove(number);
        });
        held_in(&unticked, TICKED, "lateral-not-ticked", "v-pre");
    }
    let mut unseen = good.clone();
    unseen.edit("surveys/v-pre", |survey: &mut Survey| {
        survey.sightings[0].seen = false
    });
    held_in(&unseen, TICKED, "lateral-not-ticked", "v-pre");
    unseen.edit("surveys/v-pre", |survey: &mut Survey| {
        survey.sightings[0].reason = "under the fold at 12 o'clock, proven by dye".into();
    });
    let status = unseen.status();
    let ticks = point(&status, TICKED);
    assert_eq!(ticks.state(), PointState::Released);
    let said = |f: &obvert_proto::common::v1::Finding| f.code == "lateral-unseen" && !f.holds;
    assert!(ticks.findings.iter().any(said), "{:?}", ticks.findings);
    let unasked = pre_cure("09:12").status();
    assert_eq!(point(&unasked, "more").state(), PointState::Released);
}

#[test]
fn a_lateral_that_its_owner_gave_up_needs_no_tick_and_a_lost_register_holds() {
    let good = Fixture::clean();
    let name = good.file().laterals[0].name.clone();
    let short = name.strip_prefix("projects/quillfern/").unwrap();
    let mut given_up = good.clone();
    given_up.edit("surveys/v-pre", |survey: &mut Survey| {
        survey.sightings.retain(|sighting| sighting.lateral != name)
    });
    given_up.edit(short, |lateral: &mut Lateral| {
        lateral.state = LateralState::Abandoned.into()
    });
    let status = given_up.status();
    assert_eq!(point(&status, TICKED).state(), PointState::Released);
    let register = good.file().registers[0].name.clone();
    let mut lost = good;
    lost.remove(register.strip_prefix("projects/quillfern/").unwrap());
    held_in(&lost, TICKED, "missing-lateral-register", "");
}

#[test]
fn a_survey_of_another_purpose_does_not_count() {
    let point = "evaluator = \"survey-present\"\nparameters = { purpose = \"design\" }";
    held_in(&with_point(point), "more", "missing-cctv-survey", "");
}

/// Point of the common plan that asks for lots given back.
const GIVEN_BACK: &str = "property-release";

#[test]
fn every_lot_entered_needs_photographs_and_a_release_signed_after_the_work() {
    let good = Fixture::clean();
    let status = good.status();
    let state = point(&status, GIVEN_BACK);
    assert_eq!(state.state(), PointState::Released, "{:?}", state.findings);
    let mut unshown = good.clone();
    unshown.edit(
        "documents/restoration-photos-p-1",
        |photos: &mut Document| photos.attachments.clear(),
    );
    held_in(&unshown, GIVEN_BACK, "missing-restoration-photos", "");
    let mut unreleased = good.clone();
    unreleased.remove("documents/property-release-p-3");
    held_in(&unreleased, GIVEN_BACK, "missing-property-release", "");
    let mut early = good.clone();
    early.edit(
        "documents/property-release-p-1",
        |release: &mut Document| release.signed_date = on("2026-05-03"),
    );
    held_in(
        &early,
        GIVEN_BACK,
        "property-release-not-sufficient",
        "property-release-p-1",
    );
    let mut unsigned = good;
    unsigned.edit(
        "documents/property-release-p-1",
        |release: &mut Document| release.signed_by.clear(),
    );
    held_in(
        &unsigned,
        GIVEN_BACK,
        "property-release-not-sufficient",
        "property-release-p-1",
    );
}

#[test]
fn a_refused_release_holds_until_the_owner_s_variance_and_is_shown_as_one() {
    for kind in ["property-release-refused", "property-release-unanswered"] {
        let mut fixture = Fixture::clean();
        fixture.remove("documents/property-release-p-1");
        let paper = asked::paper(kind, full("parcels/p-1"));
        fixture.add("documents/no-p-1", paper);
        held_in(&fixture, GIVEN_BACK, kind, "no-p-1");
        fixture.sign(
            GIVEN_BACK,
            ReleaseKind::Variance,
            "owner",
            "the photographs show it whole",
        );
        let status = fixture.status();
        assert_eq!(point(&status, GIVEN_BACK).state(), PointState::Variance);
        let row = status.evidence.iter().find(|row| row.row == "E36").unwrap();
        assert_eq!(row.waived_by, "person/owner (owner)");
        fixture.remove("documents/restoration-photos-p-1");
        assert_eq!(
            point(&fixture.status(), GIVEN_BACK).state(),
            PointState::Held
        );
    }
}

#[test]
fn a_lost_deviation_holds_and_a_late_point_only_says_so() {
    let mut fixture = Fixture::clean();
    let open = obvert_proto::acceptance::v1::Nonconformance {
        subjects: vec![full("segments/s-1")],
        found_time: at("2026-05-05 08:00"),
        ..Default::default()
    };
    fixture.add("nonconformances/z-1", open);
    assert_eq!(
        holding(point(&fixture.status(), "nonconformances")),
        ["nonconformance-open"]
    );
    fixture.remove("nonconformances/z-1");
    held_in(&fixture, "nonconformances", "missing-nonconformance", "");
    let due = "evaluator = \"laboratory-report\"\ndue_limit = \
               \"laboratory_report_due_days\"\ndue_after = \"pull-in\"\n";
    let plan = PLAN.replacen("evaluator = \"laboratory-report\"\n", due, 1);
    let mut late = Fixture::clean();
    late.plan = parse(&plan).unwrap();
    late.remove("laboratoryReports/y-1");
    let status = late.status();
    let report = point(&status, "laboratory-report");
    assert_eq!(report.due_date, on("2026-05-25"));
    let note = report
        .findings
        .iter()
        .find(|f| f.code == "point-overdue")
        .unwrap();
    assert!(!note.holds);
    assert!(note.message.contains("16 days ago"), "{}", note.message);
}
