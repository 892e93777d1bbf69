//! Damaged files: rows repeated, out of order, missing, impossible.

use obvert_engineering::cure_log::{Channels, Figures, RowCounts, figures};
use proptest::prelude::*;

use super::sample::{Run, band, log, setup};

/// The log with its rows as listed.
fn rows_of(channels: &Channels, rows: &[usize]) -> Channels {
    let pick = |column: &Vec<f64>| rows.iter().map(|row| column[*row]).collect::<Vec<f64>>();
    Channels {
        elapsed_s: pick(&channels.elapsed_s),
        t_unix_ms: rows.iter().map(|row| channels.t_unix_ms[*row]).collect(),
        position_m: pick(&channels.position_m),
        speed_m_per_min: pick(&channels.speed_m_per_min),
        lamps_on: pick(&channels.lamps_on),
        lamp_mask: rows.iter().map(|row| channels.lamp_mask[*row]).collect(),
        pressure_bar_g: pick(&channels.pressure_bar_g),
        pressure2_bar_g: pick(&channels.pressure2_bar_g),
        infrared_c: channels.infrared_c.iter().map(pick).collect(),
        air_c: pick(&channels.air_c),
        event: rows.iter().map(|row| channels.event[*row]).collect(),
    }
}

fn read(channels: &Channels) -> Figures {
    figures(channels, &setup(20.0), Some(&band()))
}

/// Figures in print without the row counts; NaN would else differ from itself.
fn printed(found: Figures) -> String {
    format!(
        "{:?}",
        Figures {
            rows: RowCounts::default(),
            ..found
        }
    )
}

fn short_run() -> Run {
    Run {
        host_m: 20.0,
        stops: vec![(8.0, 40.0)],
        ..Run::default()
    }
}

#[test]
fn a_file_pasted_twice_reads_as_once() {
    let once = log(&short_run());
    let count = once.rows();
    let twice = rows_of(&once, &(0..count).chain(0..count).collect::<Vec<usize>>());
    let found = read(&twice);
    assert_eq!(found.rows.duplicate, count);
    assert_eq!(found.rows.back_in_time, 0);
    assert_eq!(printed(found), printed(read(&once)));
}

#[test]
fn a_row_out_of_order_is_sorted_and_counted() {
    let sound = log(&short_run());
    let mut order: Vec<usize> = (0..sound.rows()).collect();
    order.swap(300, 301);
    let found = read(&rows_of(&sound, &order));
    assert_eq!(found.rows.back_in_time, 1);
    assert_eq!(printed(found), printed(read(&sound)));
}

#[test]
fn a_gap_is_listed_and_its_light_is_not_credited() {
    let sound = log(&short_run());
    let order: Vec<usize> = (0..sound.rows())
        .filter(|row| !(400..460).contains(row))
        .collect();
    let found = read(&rows_of(&sound, &order));
    assert_eq!(found.flags.gaps.count(), 1);
    assert!((found.flags.gaps.list[0].value - 61.0).abs() < 1e-9);
    assert_eq!(
        found.flags.jumps.count(),
        1,
        "a minute of travel in one row is a jump"
    );
    let between_m = found.coverage.unwrap().between_m;
    assert!(
        between_m > 0.9,
        "what no row shows stays below the reference: {between_m}"
    );
}

#[test]
fn rows_without_position_are_set_aside_and_show_as_a_gap() {
    let mut channels = log(&short_run());
    channels.position_m[500..506].fill(f64::NAN);
    let found = read(&channels);
    assert_eq!(found.rows.unplaced, 6);
    assert_eq!(found.flags.gaps.count(), 1);
    assert!(found.unfit.is_empty(), "six rows are less than one percent");
    channels.position_m[500..560].fill(f64::NAN);
    assert_eq!(read(&channels).unfit.len(), 1);
}

#[test]
fn a_train_that_goes_back_is_listed_with_how_far() {
    let sound = log(&short_run());
    let mut channels = sound.clone();
    for row in 600..630 {
        channels.position_m[row] -= 0.30;
    }
    let backward = read(&channels).flags.backward;
    assert_eq!(backward.count(), 1);
    assert!(
        (backward.list[0].value - 0.283).abs() < 0.01,
        "{:?}",
        backward.list[0]
    );
}

#[test]
fn impossible_readings_count_with_lamps_lit_only() {
    let mut channels = log(&short_run());
    channels.pressure_bar_g[10] = 7.5;
    assert!(
        read(&channels).unfit.is_empty(),
        "a spike before the lamps is no matter"
    );
    channels.pressure_bar_g[400] = 7.5;
    let found = read(&channels);
    assert_eq!(found.flags.implausible_rows, 1);
    assert_eq!(found.unfit.len(), 1);
}

#[test]
fn columns_of_different_length_are_named_and_nothing_is_read() {
    let mut channels = log(&short_run());
    channels.air_c.pop();
    let found = read(&channels);
    assert!(found.unfit[0].contains("air_c"), "{:?}", found.unfit);
    assert!(found.phases.is_empty());
}

#[test]
fn a_log_that_counts_lamps_without_states_gives_the_same_dose() {
    let with_states = log(&short_run());
    let mut counted = with_states.clone();
    counted.lamp_mask.clear();
    let mean = |channels: &Channels| read(channels).dose.unwrap().mean_w_s_per_m;
    assert!((mean(&counted) / mean(&with_states) - 1.0).abs() < 1e-3);
}

/// Numbers that a damaged file may hold.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        -5.0..300.0f64,
        Just(0.0),
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(-1e300),
        Just(1e300),
        Just(1e17),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_rows_however_damaged_stop_the_reading(
        rows in prop::collection::vec((wild(), wild(), wild(), wild(), 0..1024u32), 0..60),
        falling in any::<bool>(),
    ) {
        use obvert_engineering::cure_log::{Direction, Verdict, judge};
        use obvert_engineering::plots::cure_plots;
        let channels = Channels {
            elapsed_s: rows.iter().map(|row| row.0).collect(),
            position_m: rows.iter().map(|row| row.1).collect(),
            pressure_bar_g: rows.iter().map(|row| row.2).collect(),
            infrared_c: vec![rows.iter().map(|row| row.3).collect(), Vec::new()],
            lamp_mask: rows.iter().map(|row| row.4).collect(),
            ..Channels::default()
        };
        let mut setup = setup(20.0);
        if falling {
            setup.placement.direction = Direction::Falling;
            setup.host = None;
        }
        let found = figures(&channels, &setup, Some(&band()));
        let judged = judge(&found, Some(&band()), &setup);
        prop_assert_ne!(judged.verdict, Verdict::InTolerance);
        for plot in cure_plots(&channels, &setup, &found, Some(&band()), &[]) {
            prop_assert!(plot.svg.len() < 1_000_000);
        }
    }

    #[test]
    fn repeated_rows_anywhere_change_nothing(repeats in prop::collection::vec(0..1300usize, 1..40)) {
        let once = log(&short_run());
        let count = once.rows();
        let mut order: Vec<usize> = (0..count).collect();
        for row in repeats {
            order.insert((row * 7) % count, row % count);
        }
        let expected = order.len() - count;
        let found = read(&rows_of(&once, &order));
        prop_assert_eq!(found.rows.duplicate, expected);
        prop_assert_eq!(printed(found), printed(read(&once)));
    }
}
