//! Datum, reversed surveys, and openings before and after lining.

use obvert_engineering::stations::{
    Alignment, Datum, Finding, ManholeWall, MatchLimits, Opening, Station, align, reversed,
};
use proptest::prelude::*;

fn opening(label: &str, station_m: f64, clock_h: f64) -> Opening {
    Opening {
        label: label.to_owned(),
        station_m,
        clock_h: Some(clock_h),
    }
}

fn matched(before: &[Opening], after: &[Opening]) -> Alignment {
    align(before, after, &MatchLimits::default())
}

fn not_seen(found: &Alignment) -> Vec<usize> {
    let only = |finding: &Finding| match finding {
        Finding::NotSeen { before } => Some(*before),
        _ => None,
    };
    found.findings.iter().filter_map(only).collect()
}

#[test]
fn a_station_goes_from_centre_to_wall_to_pipe_end() {
    let manhole = ManholeWall {
        radius_m: Some(0.6),
        pipe_end_inside_m: Some(0.05),
    };
    let seen = Station {
        station_m: 10.0,
        datum: Datum::CentreOfManhole,
    };
    let wall = seen.converted(Datum::InsideWall, &manhole);
    assert!((wall.station.station_m - 9.4).abs() < 1e-9);
    let end = wall.station.converted(Datum::PipeEnd, &manhole);
    assert!((end.station.station_m - 9.45).abs() < 1e-9);
    let back = end.station.converted(Datum::CentreOfManhole, &manhole);
    assert!((back.station.station_m - 10.0).abs() < 1e-9);
}

#[test]
fn what_was_not_measured_is_assumed_and_said() {
    let seen = Station {
        station_m: 10.0,
        datum: Datum::Assumed,
    };
    let found = seen.converted(Datum::CentreOfManhole, &ManholeWall::default());
    assert!((found.station.station_m - 10.6).abs() < 1e-9);
    assert_eq!(
        found.assumed.len(),
        2,
        "no datum and no radius: {:?}",
        found.assumed
    );
}

#[test]
fn an_unopened_lateral_is_named_and_does_not_shift_the_later_ones() {
    let before: Vec<Opening> = [(2.0, 3.0), (4.1, 9.0), (6.3, 3.0), (8.2, 3.0), (30.0, 9.0)]
        .into_iter()
        .enumerate()
        .map(|(place, (station, clock))| opening(&format!("L-{place}"), station, clock))
        .collect();
    for missing in 0..before.len() {
        let mut after = before.clone();
        after.remove(missing);
        let found = matched(&before, &after);
        assert_eq!(not_seen(&found), [missing]);
        assert_eq!(found.pairs.len(), before.len() - 1);
        assert_eq!(found.findings.len(), 1, "{:?}", found.findings);
    }
}

#[test]
fn a_counter_zeroed_at_the_centre_is_a_datum_finding_not_many_residuals() {
    let before = [
        opening("a", 5.0, 3.0),
        opening("b", 12.0, 9.0),
        opening("c", 31.0, 2.0),
    ];
    let after = [
        opening("1", 5.61, 3.0),
        opening("2", 12.61, 9.0),
        opening("3", 31.61, 2.0),
    ];
    let found = matched(&before, &after);
    assert!((found.offset_m - 0.61).abs() < 1e-6);
    assert!(matches!(
        found.findings.as_slice(),
        [Finding::DatumOffset { .. }]
    ));
}

#[test]
fn an_opening_without_a_lateral_is_listed() {
    let before = [opening("a", 5.0, 3.0), opening("b", 31.0, 2.0)];
    let after = [
        opening("1", 5.0, 3.0),
        opening("2", 18.0, 10.0),
        opening("3", 31.0, 2.0),
    ];
    let found = matched(&before, &after);
    assert_eq!(found.findings, [Finding::NotRegistered { after: 1 }]);
}

#[test]
fn two_laterals_opposite_each_other_keep_their_sides() {
    let before = [opening("left", 12.00, 9.0), opening("right", 12.05, 3.0)];
    let after = [opening("1", 12.00, 3.0), opening("2", 12.06, 9.0)];
    let found = matched(&before, &after);
    let pairs: Vec<(usize, usize)> = found.pairs.iter().map(|p| (p.before, p.after)).collect();
    assert_eq!(pairs, [(0, 1), (1, 0)]);
    assert!(found.findings.is_empty(), "{:?}", found.findings);
}

#[test]
fn one_cut_half_a_metre_off_is_a_pair_apart() {
    let before: Vec<Opening> = [4.0, 11.0, 19.0, 27.0, 35.0]
        .map(|station| opening("", station, 10.0))
        .to_vec();
    let mut after = before.clone();
    after[2].station_m += 0.5;
    let found = matched(&before, &after);
    assert_eq!(found.pairs.len(), 5);
    let [Finding::StationApart(pair)] = found.findings.as_slice() else {
        panic!("one finding expected: {:?}", found.findings)
    };
    assert_eq!(pair.before, 2);
    assert!((pair.station_residual_m - 0.5).abs() < 0.02, "{pair:?}");
}

#[test]
fn a_single_pair_apart_is_not_explained_away_by_an_offset() {
    let found = matched(&[opening("a", 5.0, 3.0)], &[opening("1", 5.5, 3.0)]);
    assert_eq!(found.offset_m, 0.0);
    assert!(matches!(
        found.findings.as_slice(),
        [Finding::StationApart(_)]
    ));
}

#[test]
fn empty_lists_match_nothing() {
    assert!(matched(&[], &[]).findings.is_empty());
    assert_eq!(not_seen(&matched(&[opening("a", 5.0, 3.0)], &[])), [0]);
}

/// Stations at least 1.2 m apart, each with an hour.
fn pipe() -> impl Strategy<Value = Vec<Opening>> {
    prop::collection::vec((1.2..9.0f64, 1..=12u8), 5..16).prop_map(|steps| {
        let mut station = 0.0;
        let place = |(step, hour): (f64, u8)| {
            station += step;
            opening("", station, f64::from(hour))
        };
        steps.into_iter().map(place).collect()
    })
}

proptest! {
    #[test]
    fn reversing_twice_gives_the_survey_back(openings in pipe(), length in 80.0..150.0f64) {
        let twice = reversed(&reversed(&openings, length), length);
        for (a, b) in openings.iter().zip(&twice) {
            prop_assert!((a.station_m - b.station_m).abs() < 1e-9);
            prop_assert_eq!(a.clock_h, b.clock_h);
        }
        prop_assert_eq!(openings.len(), twice.len());
    }

    #[test]
    fn a_planted_offset_scale_and_missing_opening_are_found(
        before in pipe(),
        offset in -0.9..0.9f64,
        scale in 0.98..1.02f64,
        noise in prop::collection::vec(-0.05..0.05f64, 16),
        removed in 0..16usize,
    ) {
        let removed = removed % before.len();
        let mut after: Vec<Opening> = before
            .iter()
            .zip(&noise)
            .map(|(entry, noise)| Opening {
                station_m: offset + scale * entry.station_m + noise,
                ..entry.clone()
            })
            .collect();
        after.remove(removed);
        let found = matched(&before, &after);
        let mut afters: Vec<usize> = found.pairs.iter().map(|pair| pair.after).collect();
        afters.dedup();
        prop_assert_eq!(afters.len(), found.pairs.len());
        prop_assert_eq!(not_seen(&found), vec![removed]);
        let spread = before[before.len() - 1].station_m - before[0].station_m;
        if spread > 20.0 && before.len() > 6 {
            prop_assert!((found.offset_m - offset).abs() < 0.15, "{}", found.offset_m);
            prop_assert!((found.scale - scale).abs() < 0.01, "{}", found.scale);
        }
    }
}
