//! Runs, outcomes of laterals, and the hard stop at the end of the day.

use obvert_proto::{
    installation::v1::{
        DayClose, HomeShut, LateralOutcome, ReopeningOutcome, Run, RunOutcome, StepKind,
        record::Body,
    },
    project::v1::{Attachment, Document, LateralState},
};

use super::{
    papers::day,
    pipe::{Installations, at, create, installations, put, run, step, with_liner, with_run},
    store::{Store, fact, lateral, named, reason, violates},
};

/// A run with three laterals that may be live and one given up by its owner.
async fn with_laterals() -> (Store, Installations) {
    let (store, client) = with_run().await;
    let states = [
        ("l-1", LateralState::Active),
        ("l-2", LateralState::Unknown),
        ("l-3", LateralState::Active),
        ("l-4", LateralState::Abandoned),
    ];
    for (station, (id, state)) in states.into_iter().enumerate() {
        let mut one = lateral("s-014", 10.0 * station as f64);
        one.state = state.into();
        put(&store, "laterals", id, &one).await;
    }
    put(&store, "laterals", "l-9", &lateral("s-015", 5.0)).await;
    put(&store, "attachments", "a-1", &Attachment::default()).await;
    put(&store, "documents", "p-1", &Document::default()).await;
    (store, client)
}

fn open(lateral: &str) -> LateralOutcome {
    LateralOutcome {
        lateral: named("laterals", lateral),
        run: named("runs", "r-1"),
        outcome: ReopeningOutcome::Open.into(),
        opened_time: at(190),
        flow_seen_time: at(200),
        flow_media: vec![named("attachments", "a-1")],
        ..LateralOutcome::default()
    }
}

fn shut(lateral: &str) -> HomeShut {
    HomeShut {
        lateral: named("laterals", lateral),
        owner_told_time: at(250),
        mitigation: "room in an inn".into(),
        deadline_time: at(1200),
    }
}

fn close(homes_shut: Vec<HomeShut>) -> Body {
    Body::DayClose(DayClose {
        work_date: day(3, 2),
        crew: "crew B".into(),
        runs: vec![named("runs", "r-1")],
        homes_shut,
        close_time: at(300),
    })
}

#[tokio::test]
async fn a_day_does_not_close_while_a_lateral_is_neither_open_nor_listed_as_shut() {
    let (_store, mut client) = with_laterals().await;
    let cut = LateralOutcome {
        flow_seen_time: None,
        flow_media: Vec::new(),
        ..open("l-1")
    };
    create(&mut client, "x-1", Body::LateralOutcome(cut))
        .await
        .unwrap();
    let refused = create(&mut client, "d-1", close(Vec::new()))
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert_eq!(fact(&refused, "lateral_count"), "3");
    let (first, second, third) = (
        named("laterals", "l-1"),
        named("laterals", "l-2"),
        named("laterals", "l-3"),
    );
    let expected = [
        (
            first.as_str(),
            "l-1 of segment s-014 at 0.00 m is cut open and no flow was seen",
        ),
        (
            second.as_str(),
            "l-2 of segment s-014 at 10.00 m has no outcome",
        ),
        (
            third.as_str(),
            "l-3 of segment s-014 at 20.00 m has no outcome",
        ),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn a_day_closes_once_each_lateral_is_open_left_closed_in_writing_or_listed_as_shut() {
    let (_store, mut client) = with_laterals().await;
    create(&mut client, "x-1", Body::LateralOutcome(open("l-1")))
        .await
        .unwrap();
    let left = LateralOutcome {
        outcome: ReopeningOutcome::LeftClosedByDirection.into(),
        opened_time: None,
        flow_seen_time: None,
        flow_media: Vec::new(),
        direction_document: named("documents", "p-1"),
        ..open("l-2")
    };
    create(&mut client, "x-2", Body::LateralOutcome(left))
        .await
        .unwrap();
    let elsewhere = create(&mut client, "d-1", close(vec![shut("l-3"), shut("l-9")])).await;
    violates(
        &elsewhere.unwrap_err(),
        &[("day_close.homes_shut[1].lateral", "names l-9")],
    );
    create(&mut client, "d-1", close(vec![shut("l-3")]))
        .await
        .unwrap();
}

#[tokio::test]
async fn a_lateral_proven_live_is_not_settled_by_not_being_found() {
    let (_store, mut client) = with_laterals().await;
    let lost = LateralOutcome {
        outcome: ReopeningOutcome::NotFound.into(),
        opened_time: None,
        flow_seen_time: None,
        flow_media: Vec::new(),
        ..open("l-1")
    };
    create(&mut client, "x-1", Body::LateralOutcome(lost))
        .await
        .unwrap();
    let refused = create(&mut client, "d-1", close(vec![shut("l-2"), shut("l-3")])).await;
    let lateral = named("laterals", "l-1");
    let expected = [(lateral.as_str(), "is proven live and was not found")];
    violates(&refused.unwrap_err(), &expected);
}

#[tokio::test]
async fn an_outcome_of_another_run_does_not_close_the_day() {
    let (store, mut client) = with_laterals().await;
    let relined = Run {
        liner: named("liners", "n-2"),
        ..run()
    };
    put(
        &store,
        "liners",
        "n-2",
        &obvert_proto::material::v1::Liner::default(),
    )
    .await;
    create(&mut client, "r-2", Body::Run(relined))
        .await
        .unwrap();
    for (id, lateral) in [("x-1", "l-1"), ("x-2", "l-2"), ("x-3", "l-3")] {
        let outcome = LateralOutcome {
            run: named("runs", "r-2"),
            ..open(lateral)
        };
        create(&mut client, id, Body::LateralOutcome(outcome))
            .await
            .unwrap();
    }
    let refused = create(&mut client, "d-1", close(Vec::new()))
        .await
        .unwrap_err();
    assert_eq!(fact(&refused, "lateral_count"), "3");
}

#[tokio::test]
async fn an_outcome_needs_its_evidence_and_a_lateral_of_its_run() {
    let (_store, mut client) = with_laterals().await;
    let no_time = LateralOutcome {
        opened_time: None,
        flow_media: Vec::new(),
        ..open("l-1")
    };
    let refused = create(&mut client, "x-1", Body::LateralOutcome(no_time))
        .await
        .unwrap_err();
    let expected = [
        ("lateral_outcome.opened_time", "is missing"),
        ("lateral_outcome.flow_media", "needs a photograph or a film"),
    ];
    violates(&refused, &expected);
    let refused = create(&mut client, "x-1", Body::LateralOutcome(open("l-9")))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("lateral_outcome.lateral", "enters segment s-015")],
    );
    create(&mut client, "x-1", Body::LateralOutcome(open("l-1")))
        .await
        .unwrap();
    let again = create(&mut client, "x-2", Body::LateralOutcome(open("l-1")))
        .await
        .unwrap_err();
    assert_eq!(fact(&again, "holder"), named("lateralOutcomes", "x-1"));
}

#[tokio::test]
async fn everything_that_cannot_be_true_of_a_run_is_said_at_once() {
    let store = with_liner().await;
    let mut client = installations(&store);
    let mut wrong = run();
    wrong.steps.push(step(StepKind::PullIn, 20, 10));
    wrong.outcome = RunOutcome::PulledIn.into();
    wrong.manholes.push("MH-9".into());
    let refused = create(&mut client, "r-1", Body::Run(wrong))
        .await
        .unwrap_err();
    let expected = [
        ("run.steps[3].end_time", "600 s before start_time"),
        ("run.steps[3].step", "second pull-in"),
        ("run.outcome", "steps list a cure"),
        (
            "run.manholes",
            "has 3 manholes for 1 segments, 2 are wanted",
        ),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn a_run_goes_from_manhole_to_manhole_in_either_direction() {
    let store = with_liner().await;
    let mut client = installations(&store);
    let over_both = |manholes: [&str; 3]| Run {
        segments: vec![named("segments", "s-015"), named("segments", "s-014")],
        manholes: manholes.map(String::from).to_vec(),
        ..run()
    };
    let broken = Body::Run(over_both(["MH-8", "MH-9", "MH-7"]));
    let refused = create(&mut client, "r-1", broken).await.unwrap_err();
    violates(
        &refused,
        &[(
            "run.manholes[1]",
            "runs from MH-9 to MH-7, segment s-014 joins",
        )],
    );
    let against = Body::Run(over_both(["MH-9", "MH-8", "MH-7"]));
    create(&mut client, "r-1", against).await.unwrap();
}

#[tokio::test]
async fn a_liner_is_installed_once_unless_its_run_was_given_up_before_the_lamps_were_lit() {
    let store = with_liner().await;
    let mut client = installations(&store);
    let mut given_up = run();
    given_up.outcome = RunOutcome::AbortedBeforeLights.into();
    given_up.steps.truncate(1);
    create(&mut client, "r-1", Body::Run(given_up))
        .await
        .unwrap();
    create(&mut client, "r-2", Body::Run(run())).await.unwrap();
    let refused = create(&mut client, "r-3", Body::Run(run()))
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "CLAIM_TAKEN");
    assert_eq!(fact(&refused, "claim"), "installed-liner/n-1");
    assert_eq!(fact(&refused, "holder"), named("runs", "r-2"));
}
