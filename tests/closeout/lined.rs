//! Points after lining and of acceptance.

use obvert_proto::{
    acceptance::v1::{Disposition, Nonconformance, Observation, Survey, SurveyPurpose},
    common::v1::{Datum, Direction},
    design::v1::WallDesign,
    installation::v1::{LateralOutcome, ReopeningOutcome},
    material::v1::LinerOrder,
    project::v1::Lateral,
};

use super::{
    Fixture,
    fixture::{SEGMENT, at, full, on},
    held, past, point,
    work::{opening, survey},
};

fn outcome(f: &mut Fixture, change: impl FnOnce(&mut LateralOutcome)) {
    f.edit("lateralOutcomes/l-2", change);
}

fn seen(f: &mut Fixture, change: impl FnOnce(&mut Survey)) {
    f.edit("surveys/v-post", change);
}

#[test]
fn a_lateral_cut_badly_or_late_holds() {
    let check = |change: fn(&mut LateralOutcome), code: &str| {
        held(
            |f| outcome(f, change),
            "laterals-reopened",
            code,
            "lateralOutcomes/l-2",
        );
    };
    check(|o| o.opening_percent = Some(94.0), "lateral-undercut");
    check(|o| o.opening_percent = Some(101.0), "lateral-overcut");
    check(|o| o.brushed = false, "lateral-not-brushed");
    check(|o| o.disc_recovered = false, "disc-not-recovered");
    check(|o| o.flow_media.clear(), "flow-not-filmed");
    check(
        |o| o.flow_seen_time = at("2026-05-04 16:50"),
        "outage-too-long",
    );
    check(
        |o| o.flow_seen_time = at("2026-05-05 06:00"),
        "lateral-shut-over-night",
    );
    check(
        |o| o.outcome = ReopeningOutcome::NotFound.into(),
        "lateral-not-found",
    );
    check(
        |o| o.outcome = ReopeningOutcome::OwnerAbandoned.into(),
        "abandoned-not-registered",
    );
    check(
        |o| o.outcome = ReopeningOutcome::LeftClosedByDirection.into(),
        "missing-document",
    );
    held(
        |f| outcome(f, |o| o.flow_seen_time = None),
        "laterals-reopened",
        "missing-flow-seen",
        "",
    );
    held(
        |f| f.remove("lateralOutcomes/l-2"),
        "laterals-reopened",
        "missing-lateral-outcome",
        "",
    );
}

#[test]
fn openings_are_matched_one_by_one_and_never_by_count() {
    let closed = |f: &mut Fixture| seen(f, |s| s.observations.truncate(1));
    held(
        closed,
        "laterals-reopened",
        "opening-not-seen",
        "laterals/l-2",
    );
    let extra = |f: &mut Fixture| seen(f, |s| s.observations.push(opening(42.0, 3.0)));
    held(
        extra,
        "laterals-reopened",
        "opening-not-registered",
        "v-post",
    );
    let one_for_another = |f: &mut Fixture| seen(f, |s| s.observations[1] = opening(42.0, 3.0));
    held(
        one_for_another,
        "laterals-reopened",
        "opening-not-seen",
        "laterals/l-2",
    );
    held(
        one_for_another,
        "laterals-reopened",
        "opening-not-registered",
        "v-post",
    );
}

#[test]
fn a_survey_counted_from_the_manholes_middle_agrees_only_when_it_says_so() {
    let shift = |s: &mut Survey| {
        s.observations
            .iter_mut()
            .for_each(|o| o.station_from_m += 0.6);
        s.surveyed_length_m = 51.4;
    };
    let unsaid = |f: &mut Fixture| seen(f, shift);
    held(unsaid, "lateral-stations", "datum-offset", "v-post");
    held(unsaid, "length-closure", "length-differs", "v-post");
    let said = |f: &mut Fixture| {
        seen(f, |s| {
            shift(s);
            s.datum = Datum::ManholeCentre.into();
        });
    };
    past(said, "lateral-stations");
    past(said, "length-closure");
    past(said, "laterals-reopened");
}

#[test]
fn a_survey_against_the_flow_is_turned_round() {
    let turned = |f: &mut Fixture| {
        seen(f, |s| {
            s.direction = Direction::AgainstFlow.into();
            s.from_manhole = "MB-2".into();
            s.observations = vec![opening(20.0, 2.0), opening(40.0, 10.0)];
        });
    };
    past(turned, "lateral-stations");
    past(turned, "laterals-reopened");
    let from_the_other_end = |f: &mut Fixture| {
        turned(f);
        seen(f, |s| s.from_manhole = "MB-1".into());
    };
    held(
        from_the_other_end,
        "lateral-stations",
        "survey-direction-disagrees",
        "v-post",
    );
}

#[test]
fn an_opening_beside_its_lateral_holds() {
    let third = |f: &mut Fixture| {
        let mut lateral: Lateral =
            prost::Message::decode(f.records[&full("laterals/l-1")].body.clone()).unwrap();
        lateral.station_m = 20.0;
        lateral.clock_h = 3.0;
        f.add("laterals/l-3", lateral);
        let mut out: LateralOutcome =
            prost::Message::decode(f.records[&full("lateralOutcomes/l-1")].body.clone()).unwrap();
        out.lateral = full("laterals/l-3");
        f.add("lateralOutcomes/l-3", out);
    };
    let clock = |f: &mut Fixture| {
        third(f);
        seen(f, |s| s.observations.insert(1, opening(20.05, 4.5)));
    };
    held(clock, "lateral-stations", "clock-apart", "laterals/l-3");
    let station = |f: &mut Fixture| {
        third(f);
        seen(f, |s| s.observations.insert(1, opening(20.6, 3.0)));
    };
    held(station, "lateral-stations", "station-apart", "laterals/l-3");
}

fn wrinkle(height: Option<f64>, unit: &str) -> Observation {
    Observation {
        station_from_m: 21.0,
        observation_class: "wrinkle-longitudinal".into(),
        quantification_1: height,
        quantification_1_unit: unit.into(),
        ..Observation::default()
    }
}

#[test]
fn a_liner_seen_with_a_fault_over_the_limits_holds() {
    let with =
        |f: &mut Fixture, observation: Observation| seen(f, |s| s.observations.push(observation));
    past(|f| with(f, wrinkle(Some(6.0), "mm")), "post-lining-cctv");
    held(
        |f| with(f, wrinkle(Some(6.5), "mm")),
        "post-lining-cctv",
        "irregularity-too-high",
        "v-post",
    );
    held(
        |f| with(f, wrinkle(Some(3.5), "percent")),
        "post-lining-cctv",
        "irregularity-too-high",
        "v-post",
    );
    held(
        |f| with(f, wrinkle(None, "mm")),
        "post-lining-cctv",
        "observation-not-measured",
        "v-post",
    );
    let soft = || Observation {
        observation_class: "soft-spot".into(),
        ..Observation::default()
    };
    held(
        |f| with(f, soft()),
        "post-lining-cctv",
        "observation-refused",
        "v-post",
    );
    let repaired = |f: &mut Fixture| {
        with(f, soft());
        let openings = vec![opening(10.0, 2.0), opening(30.0, 10.0)];
        survey(
            f,
            "v-repair",
            SurveyPurpose::PostRepair,
            "2026-05-20 10:00",
            openings,
        );
    };
    past(repaired, "post-lining-cctv");
}

#[test]
fn a_survey_that_is_early_partial_or_without_film_holds() {
    let early = |f: &mut Fixture| seen(f, |s| s.start_time = at("2026-05-04 12:20"));
    held(
        early,
        "post-lining-cctv",
        "survey-before-reopening",
        "v-post",
    );
    held(
        |f| seen(f, |s| s.complete = false),
        "post-lining-cctv",
        "survey-incomplete",
        "v-post",
    );
    held(
        |f| seen(f, |s| s.media.clear()),
        "post-lining-cctv",
        "survey-without-media",
        "v-post",
    );
    held(
        |f| seen(f, |s| s.surveyed_length_m = 48.0),
        "length-closure",
        "length-differs",
        "v-post",
    );
    held(
        |f| f.remove("surveys/v-post"),
        "post-lining-cctv",
        "missing-cctv-survey",
        "",
    );
}

#[test]
fn dates_that_run_backwards_hold_and_one_day_may_hold_several() {
    let order = |f: &mut Fixture, day: &str| {
        f.edit("orders/o-1", |o: &mut LinerOrder| o.order_date = on(day));
    };
    held(
        |f| order(f, "2026-04-03"),
        "date-order",
        "dates-out-of-order",
        "certificates/c-1",
    );
    past(|f| order(f, "2026-04-02"), "date-order");
    let sealed_after = |f: &mut Fixture| {
        f.edit("designs/d-1", |d: &mut WallDesign| {
            d.sealed_date = on("2026-03-13")
        });
    };
    held(
        sealed_after,
        "date-order",
        "dates-out-of-order",
        "designs/d-1",
    );
    let sealed_same_day = |f: &mut Fixture| {
        f.edit("designs/d-1", |d: &mut WallDesign| {
            d.sealed_date = on("2026-03-12")
        });
    };
    past(sealed_same_day, "date-order");
    let tested = |f: &mut Fixture| {
        f.edit(
            "laboratoryReports/y-1",
            |y: &mut obvert_proto::acceptance::v1::LaboratoryReport| {
                y.received_date = on("2026-05-03");
            },
        );
    };
    held(tested, "date-order", "dates-out-of-order", "samples/a-1");
}

fn deviation(disposition: Disposition, closed: bool) -> Nonconformance {
    Nonconformance {
        subjects: vec![SEGMENT.into()],
        description: "wrinkle of 9 mm at 21 m".into(),
        found_time: at("2026-05-05 09:00"),
        disposition: disposition.into(),
        disposed_by: "engineer".into(),
        disposed_time: at("2026-05-07 09:00"),
        justification: "flow is not impeded".into(),
        close_time: if closed { at("2026-05-09 09:00") } else { None },
        ..Nonconformance::default()
    }
}

#[test]
fn an_open_or_undecided_deviation_holds_acceptance() {
    let file = |f: &mut Fixture, n: Nonconformance| f.add("nonconformances/z-1", n);
    past(
        |f| file(f, deviation(Disposition::UseAsIs, true)),
        "nonconformances",
    );
    let open = || deviation(Disposition::UseAsIs, false);
    held(
        |f| file(f, open()),
        "nonconformances",
        "nonconformance-open",
        "z-1",
    );
    let undecided = || deviation(Disposition::Unspecified, true);
    held(
        |f| file(f, undecided()),
        "nonconformances",
        "nonconformance-not-decided",
        "z-1",
    );
    let repair = || deviation(Disposition::Repair, true);
    held(
        |f| file(f, repair()),
        "nonconformances",
        "nonconformance-without-retest",
        "z-1",
    );
    let about_the_run = || Nonconformance {
        subjects: vec![full("runs/r-1")],
        ..open()
    };
    held(
        |f| file(f, about_the_run()),
        "nonconformances",
        "nonconformance-open",
        "z-1",
    );
    let elsewhere = || Nonconformance {
        subjects: vec![full("segments/s-2")],
        ..open()
    };
    let away = |f: &mut Fixture| {
        *f = Fixture::shared_run();
        file(f, elsewhere());
    };
    past(away, "nonconformances");
}

#[test]
fn acceptance_waits_for_every_point() {
    let mut fixture = Fixture::clean();
    fixture.remove("leakTests/t-1");
    let status = fixture.signed();
    assert!(!status.accepted);
    let last = point(&status, "final-acceptance");
    let waits = last
        .findings
        .iter()
        .find(|f| f.code == "waits-for-earlier-points")
        .unwrap();
    assert_eq!(waits.facts["points"], "leak-test");
}
