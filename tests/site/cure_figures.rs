//! Figures of a log whose faults are known because they were planted.

use obvert_engineering::cure_log::{Figures, LengthTolerance, PhaseKind, RunLength, figures};
use proptest::prelude::*;

use super::sample::{LAMPS, LEAD_M, Run, band, log, setup};

fn read(run: &Run) -> Figures {
    figures(&log(run), &setup(run.host_m), Some(&band()))
}

#[test]
fn an_even_run_has_its_speed_and_its_length() {
    let run = Run::default();
    let found = read(&run);
    assert!((found.speed.mean_m_per_min.unwrap() - 1.0).abs() < 1e-6);
    assert!((found.speed.p95_m_per_min.unwrap() - 1.0).abs() < 1e-6);
    let train_m = (LAMPS - 1) as f64 * 0.16;
    let swept_m = run.host_m + 2.0 * LEAD_M + 2.0 * train_m;
    assert!((found.logged_length_m.unwrap() - swept_m).abs() < 0.02);
    assert_eq!(found.speed.in_band_percent, Some(100.0));
}

#[test]
fn the_phases_are_found_in_order() {
    let found = read(&Run::default());
    let kinds: Vec<PhaseKind> = found.phases.iter().map(|phase| phase.kind).collect();
    let expected = [
        PhaseKind::InflationHold,
        PhaseKind::RampUp,
        PhaseKind::Travel,
        PhaseKind::RampDown,
        PhaseKind::CoolDown,
    ];
    assert_eq!(kinds, expected);
    assert!((found.phases[0].to_s - 60.0).abs() < 1e-9);
    assert!((found.phases[1].to_s - 105.0).abs() < 1.5);
    let joined = found
        .phases
        .windows(2)
        .all(|pair| pair[0].to_s == pair[1].from_s);
    assert!(joined, "each phase begins where the one before ends");
}

#[test]
fn the_dose_of_an_even_run_is_power_over_speed() {
    let dose = read(&Run::default()).dose.unwrap();
    let expected = LAMPS as f64 * 500.0 * 60.0;
    assert!(
        (dose.least.value / expected - 1.0).abs() < 1e-6,
        "least {}",
        dose.least.value
    );
    assert!((dose.mean_w_s_per_m / expected - 1.0).abs() < 1e-6);
}

#[test]
fn a_sensor_whose_offset_is_wrong_shows_its_true_distance() {
    let run = Run::default();
    let mut setup = setup(run.host_m);
    setup.train.infrared_offsets_m[2] = 1.35;
    let found = figures(&log(&run), &setup, None);
    let lag = found
        .sensor_lags
        .iter()
        .find(|lag| lag.sensor == 2)
        .unwrap();
    assert!((lag.stated_m - 1.6).abs() < 1e-9);
    assert!(
        (lag.found_m.unwrap() - 2.0).abs() < 0.11,
        "found {:?}",
        lag.found_m
    );
}

#[test]
fn a_dip_has_its_pressure_its_time_and_its_stations() {
    let run = Run {
        dip: Some((21.0, 22.0, 0.40)),
        ..Run::default()
    };
    let dips = read(&run).pressure.dips;
    assert_eq!(dips.count(), 1);
    let dip = dips.list[0];
    assert!((dip.station_from_m - 21.0).abs() < 0.03 && (dip.station_to_m - 22.0).abs() < 0.03);
    assert!((dip.duration_s() - 60.0).abs() <= 1.5);
    assert!(
        (dip.value - 0.393).abs() < 0.002,
        "lower gauge, with its ripple: {}",
        dip.value
    );
}

#[test]
fn a_dip_shorter_than_three_seconds_is_not_listed() {
    let run = Run {
        dip: Some((21.0, 21.03, 0.40)),
        ..Run::default()
    };
    let found = read(&run);
    assert_eq!(found.pressure.dips.count(), 0);
    assert!(
        found.pressure.least.unwrap().value < 0.41,
        "but the lowest reading still shows it"
    );
}

#[test]
fn a_run_against_the_stations_gives_the_same_figures() {
    use obvert_engineering::cure_log::{Direction, Placement};
    let run = Run {
        lamp_off: Some((3, 10.0, 12.0)),
        ..Run::default()
    };
    let forward = read(&run);
    let mut back = setup(run.host_m);
    back.placement = Placement {
        station_at_zero_m: run.host_m,
        direction: Direction::Falling,
    };
    let back = figures(&log(&run), &back, Some(&band()));
    let share = |found: &Figures| found.speed.in_band_percent.unwrap();
    assert!((share(&forward) - share(&back)).abs() < 1e-6);
    let outage = |found: &Figures| found.lamps.outages[0].stations;
    let mirrored = run.host_m - outage(&back).to_m;
    assert!((outage(&forward).from_m - mirrored).abs() < 1e-9);
    let sums = forward.coverage.unwrap().covered_length_m - back.coverage.unwrap().covered_length_m;
    assert!(sums.abs() < 0.15);
}

#[test]
fn a_length_closes_within_the_larger_tolerance_only() {
    let run = RunLength {
        wall_to_wall_m: vec![80.0, 60.0],
        intermediate_manholes_m: vec![1.2],
        ends_m: [0.9, 0.9],
    };
    let close = |logged_m: f64| run.closure(logged_m, LengthTolerance::default());
    assert!(
        (close(143.0).tolerance_m - 2.145).abs() < 1e-9,
        "1.5 percent of 143 m"
    );
    assert!(!close(145.1).outside);
    assert!(close(145.2).outside);
    assert!(close(140.8).outside);
    assert!(close(f64::NAN).outside, "no length is no closure");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_stop_is_found_where_it_was_planted(place in 3.0..37.0f64, seconds in 8.0..300.0f64) {
        let run = Run { stops: vec![(place, seconds)], ..Run::default() };
        let found = read(&run);
        prop_assert_eq!(found.stoppages.len(), 1);
        let stop = found.stoppages[0];
        prop_assert!((stop.station_m - place).abs() < 0.03);
        prop_assert!((stop.duration_s - seconds).abs() <= 2.0, "{}", stop.duration_s);
        prop_assert_eq!(stop.lamps_least, Some(LAMPS as u8));
    }

    #[test]
    fn an_outage_lies_where_the_lamp_was_not_where_the_train_was(
        lamp in 0..LAMPS,
        place in 5.0..30.0f64,
        length in 0.5..5.0f64,
    ) {
        let run = Run { lamp_off: Some((lamp, place, place + length)), ..Run::default() };
        let found = read(&run);
        prop_assert_eq!(found.lamps.outages.len(), 1);
        let outage = found.lamps.outages[0];
        let behind = lamp as f64 * 0.16;
        prop_assert_eq!(outage.lamp, Some(lamp));
        prop_assert!((outage.stations.from_m - (place - behind)).abs() < 0.03);
        prop_assert!((outage.stations.to_m - (place + length - behind)).abs() < 0.03);
        prop_assert!((found.lamps.off_lamp_s - length * 60.0).abs() <= 2.0);
    }

    #[test]
    fn a_long_stop_does_not_dilute_the_share_in_band(fast in 1.25..2.0f64, place in 10.0..30.0f64) {
        let share = |seconds: f64| {
            let run = Run {
                speed_m_per_min: fast,
                stops: vec![(place, seconds)],
                ..Run::default()
            };
            read(&run).speed.in_band_percent.unwrap()
        };
        let (short, long) = (share(30.0), share(3000.0));
        prop_assert!((short - long).abs() < 1.5, "{short} and {long}");
        prop_assert!(long < 3.0, "nearly the whole length was too fast: {long}");
    }

    #[test]
    fn covered_and_below_reference_add_up_to_the_length(
        speed in 0.7..2.0f64,
        lamp in 0..LAMPS,
        place in -1.0..35.0f64,
        host_m in 12.0..45.0f64,
    ) {
        let run = Run {
            host_m,
            speed_m_per_min: speed,
            lamp_off: Some((lamp, place, place + 4.0)),
            ..Run::default()
        };
        let coverage = read(&run).coverage.unwrap();
        let sum = coverage.covered_length_m + coverage.below_reference_length_m;
        prop_assert!((sum - host_m).abs() < 1e-6);
        let zones = coverage.start_zone_m + coverage.between_m + coverage.end_zone_m;
        prop_assert!((zones - coverage.below_reference_length_m).abs() < 1e-6);
        if speed > 1.2 / 0.95 + 0.01 {
            prop_assert!(coverage.covered_length_m < 1e-9, "too fast throughout");
        }
    }
}
