//! Field leak tests as they are written.

use obvert_engineering::units::{m_from_ft, mm_from_in, mpa_from_psi};
use obvert_proto::acceptance::v1::{LeakMethod, LeakTest, record::Body};

use super::{
    acceptance::{Acceptances, create, near, with_lined_pipe},
    pipe::at,
    store::{named, violates},
};

/// An air test of 8 in over 350 ft from 3.5 to 3.0 psig.
fn air_test(timed_s: i64) -> LeakTest {
    let start = at(150).unwrap();
    let end = prost_types::Timestamp {
        seconds: start.seconds + timed_s,
        ..start
    };
    LeakTest {
        segment: named("segments", "s-014"),
        run: named("runs", "r-1"),
        method: LeakMethod::LowPressureAir.into(),
        start_time: Some(start),
        end_time: Some(end),
        diameter_mm: mm_from_in(8.0),
        length_m: m_from_ft(350.0),
        start_pressure_kpa: Some(mpa_from_psi(3.5) * 1000.0),
        end_pressure_kpa: Some(mpa_from_psi(3.0) * 1000.0),
        tester: "KT".into(),
        ..LeakTest::default()
    }
}

async fn tested(client: &mut Acceptances, id: &str, test: LeakTest) -> LeakTest {
    match create(client, id, Body::LeakTest(test)).await.unwrap() {
        Body::LeakTest(test) => test,
        other => panic!("{other:?}"),
    }
}

fn codes(test: &LeakTest) -> Vec<&str> {
    test.findings
        .iter()
        .map(|finding| finding.code.as_str())
        .collect()
}

#[tokio::test]
async fn an_air_test_of_8_in_over_350_ft_needs_the_4_26_of_astm_f1417_table_2() {
    let (_store, mut client) = with_lined_pipe().await;
    let held = tested(&mut client, "t-1", air_test(267)).await;
    near(held.required_time_s.unwrap(), 266.0, 1.0);
    assert_eq!((held.timed_s, codes(&held)), (267.0, Vec::new()));
    let short = tested(&mut client, "t-2", air_test(200)).await;
    assert_eq!(codes(&short), ["air-test-short"]);
    assert!(short.findings[0].holds);
}

#[tokio::test]
async fn a_drop_too_small_to_time_must_hold_as_long_as_half_a_psi() {
    let (_store, mut client) = with_lined_pipe().await;
    let steady = LeakTest {
        end_pressure_kpa: air_test(0).start_pressure_kpa,
        ..air_test(60)
    };
    let steady = tested(&mut client, "t-1", steady).await;
    near(steady.required_time_s.unwrap(), 266.0, 1.0);
    assert_eq!(codes(&steady), ["air-test-short"]);
}

#[tokio::test]
async fn groundwater_raises_the_start_and_no_air_test_may_exceed_9_psig() {
    let (_store, mut client) = with_lined_pipe().await;
    let wet = LeakTest {
        groundwater_above_invert_m: m_from_ft(4.0),
        ..air_test(300)
    };
    assert_eq!(
        codes(&tested(&mut client, "t-1", wet).await),
        ["air-test-start-low"]
    );
    let kpa = |psi: f64| Some(mpa_from_psi(psi) * 1000.0);
    let high = LeakTest {
        groundwater_above_invert_m: m_from_ft(4.0),
        start_pressure_kpa: Some(62.1),
        end_pressure_kpa: kpa(8.5),
        ..air_test(300)
    };
    let high = tested(&mut client, "t-2", high).await;
    assert_eq!(
        codes(&high),
        ["air-test-pressure-above-9-psig", "air-test-start-high"]
    );
    let deep = LeakTest {
        groundwater_above_invert_m: m_from_ft(13.0),
        ..air_test(300)
    };
    assert_eq!(
        codes(&tested(&mut client, "t-3", deep).await),
        ["air-test-groundwater-high"]
    );
}

#[tokio::test]
async fn water_lost_is_held_against_50_gallons_for_each_inch_mile_and_day() {
    let (_store, mut client) = with_lined_pipe().await;
    let filled = |lost| LeakTest {
        method: LeakMethod::Exfiltration.into(),
        length_m: m_from_ft(300.0),
        water_lost_litre: Some(lost),
        head_m: Some(1.0),
        start_pressure_kpa: None,
        end_pressure_kpa: None,
        ..air_test(3600)
    };
    // 50 gal x 8 in x 300/5280 mi / 24 h = 0.947 gal in an hour, 3.58 litre.
    let held = tested(&mut client, "t-1", filled(3.5)).await;
    near(held.allowed_loss_litre.unwrap(), 3.58, 0.005);
    assert!(codes(&held).is_empty());
    let leaking = tested(&mut client, "t-2", filled(3.6)).await;
    assert_eq!(codes(&leaking), ["exfiltration-above-allowed"]);
    let low = LeakTest {
        head_m: Some(0.5),
        ..filled(0.5)
    };
    let brief = LeakTest {
        end_time: air_test(600).end_time,
        ..low
    };
    let expected = ["exfiltration-short", "exfiltration-head-low"];
    assert_eq!(codes(&tested(&mut client, "t-3", brief).await), expected);
}

#[tokio::test]
async fn a_leak_test_needs_what_its_method_needs() {
    let (_store, mut client) = with_lined_pipe().await;
    let bare = LeakTest {
        start_pressure_kpa: None,
        end_pressure_kpa: None,
        ..air_test(-60)
    };
    let refused = create(&mut client, "t-1", Body::LeakTest(bare.clone()))
        .await
        .unwrap_err();
    let expected = [
        ("leak_test.end_time", "before start_time"),
        ("leak_test.start_pressure_kpa", "an air test needs it"),
        ("leak_test.end_pressure_kpa", "an air test needs it"),
    ];
    violates(&refused, &expected);
    let filled = LeakTest {
        method: LeakMethod::Exfiltration.into(),
        ..air_test(60)
    };
    let refused = create(&mut client, "t-1", Body::LeakTest(filled))
        .await
        .unwrap_err();
    let expected = [
        ("leak_test.water_lost_litre", "needs it"),
        ("leak_test.head_m", "needs it"),
    ];
    violates(&refused, &expected);
}
