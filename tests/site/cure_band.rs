//! A log against a maker's entered tolerance.

use obvert_engineering::cure_log::{
    Band, Channels, DeviationKind, Judgement, Setup, Verdict, figures, judge,
};

use super::sample::{Run, band, log, setup};

fn judged(channels: &Channels, setup: &Setup, band: Option<&Band>) -> Judgement {
    judge(&figures(channels, setup, band), band, setup)
}

fn kinds(judgement: &Judgement) -> Vec<DeviationKind> {
    let mut kinds: Vec<_> = judgement
        .deviations
        .iter()
        .map(|found| found.kind)
        .collect();
    kinds.dedup();
    kinds
}

#[test]
fn an_even_run_is_within_the_entered_tolerance() {
    let found = judged(&log(&Run::default()), &setup(40.0), Some(&band()));
    assert_eq!(found.verdict, Verdict::InTolerance, "{found:?}");
    assert!(found.deviations.is_empty() && found.unfit.is_empty());
}

#[test]
fn without_a_band_there_is_no_verdict_and_no_reference() {
    let (channels, setup) = (log(&Run::default()), setup(40.0));
    let drawn = figures(&channels, &setup, None);
    assert!(drawn.coverage.is_none() && drawn.speed.in_band_percent.is_none());
    assert_eq!(
        judge(&drawn, None, &setup).verdict,
        Verdict::NoToleranceGiven
    );
    let empty = Band {
        reaction_temperature_c: Some(60.0),
        ..Band::default()
    };
    assert_eq!(
        judged(&channels, &setup, Some(&empty)).verdict,
        Verdict::NoToleranceGiven
    );
}

#[test]
fn slower_than_a_one_sided_band_is_no_deviation() {
    let one_sided = Band {
        speed_min_m_per_min: None,
        ..band()
    };
    let run = Run {
        speed_m_per_min: 0.5,
        stops: vec![(12.0, 60.0)],
        ..Run::default()
    };
    let found = judged(&log(&run), &setup(40.0), Some(&one_sided));
    assert_eq!(
        found.verdict,
        Verdict::InTolerance,
        "{:?}",
        found.deviations
    );
    let both = judged(&log(&run), &setup(40.0), Some(&band()));
    assert_eq!(
        kinds(&both),
        [DeviationKind::TooSlow, DeviationKind::Stoppage]
    );
}

#[test]
fn a_fast_run_is_listed_with_its_place_and_its_missing_dose() {
    let run = Run {
        speed_m_per_min: 1.5,
        ..Run::default()
    };
    let found = judged(&log(&run), &setup(40.0), Some(&band()));
    assert_eq!(found.verdict, Verdict::DeviationListed);
    assert_eq!(
        kinds(&found),
        [DeviationKind::TooFast, DeviationKind::BelowReferenceStart]
    );
    let fast = &found.deviations[0];
    assert!((fast.value - 1.5).abs() < 1e-6 && fast.limit == 1.2 && fast.unit == "m/min");
    assert!(
        fast.words.contains("1.500 m/min, limit 1.200 m/min"),
        "{}",
        fast.words
    );
}

#[test]
fn a_train_lit_inside_the_wall_leaves_zones_at_both_ends() {
    let mut setup = setup(42.0);
    // The host reaches beyond where the lamps went on and off.
    setup.host = Some(obvert_engineering::cure_log::StationRange {
        from_m: -4.0,
        to_m: 46.0,
    });
    let found = judged(&log(&Run::default()), &setup, Some(&band()));
    let listed = kinds(&found);
    assert!(
        listed.contains(&DeviationKind::BelowReferenceStart),
        "{listed:?}"
    );
    assert!(
        listed.contains(&DeviationKind::BelowReferenceEnd),
        "{listed:?}"
    );
    assert!(
        !listed.contains(&DeviationKind::BelowReferenceBetween),
        "{listed:?}"
    );
}

#[test]
fn a_lamp_off_is_listed_when_the_band_asks_for_all() {
    let run = Run {
        lamp_off: Some((0, 10.0, 14.0)),
        ..Run::default()
    };
    let found = judged(&log(&run), &setup(40.0), Some(&band()));
    assert_eq!(kinds(&found), [DeviationKind::LampsBelowLeast]);
    let spare = Band {
        lamps_least: Some(8),
        ..band()
    };
    assert_eq!(
        judged(&log(&run), &setup(40.0), Some(&spare)).verdict,
        Verdict::InTolerance
    );
}

#[test]
fn pressure_before_the_first_lamp_is_not_judged() {
    let mut channels = log(&Run::default());
    channels.pressure_bar_g[..50].fill(0.1);
    channels.pressure2_bar_g[..50].fill(0.1);
    let found = judged(&channels, &setup(40.0), Some(&band()));
    assert_eq!(
        found.verdict,
        Verdict::InTolerance,
        "{:?}",
        found.deviations
    );
}

#[test]
fn a_judged_channel_that_is_missing_never_passes() {
    let mut channels = log(&Run::default());
    channels.pressure_bar_g.clear();
    channels.pressure2_bar_g.clear();
    let found = judged(&channels, &setup(40.0), Some(&band()));
    assert_eq!(found.verdict, Verdict::DataUnfit);
    assert!(found.unfit[0].contains("pressure"), "{:?}", found.unfit);

    let mut channels = log(&Run::default());
    channels.pressure_bar_g[700..705].fill(f64::NAN);
    channels.pressure2_bar_g[700..705].fill(f64::NAN);
    let found = judged(&channels, &setup(40.0), Some(&band()));
    assert_eq!(
        kinds(&found),
        [DeviationKind::NotMeasured],
        "few readings missing are listed"
    );

    let mut channels = log(&Run::default());
    channels.infrared_c.clear();
    assert_eq!(
        judged(&channels, &setup(40.0), Some(&band())).verdict,
        Verdict::DataUnfit
    );
}

#[test]
fn a_reference_without_the_lamp_power_of_the_run_is_unfit() {
    let mut setup = setup(40.0);
    setup.train.lamp_power_w = None;
    let found = judged(&log(&Run::default()), &setup, Some(&band()));
    assert_eq!(found.verdict, Verdict::DataUnfit);
    assert!(found.unfit[0].contains("lamp power"), "{:?}", found.unfit);
}

#[test]
fn a_band_that_contradicts_itself_is_unfit_and_says_why() {
    let crossed = Band {
        speed_min_m_per_min: Some(1.4),
        ..band()
    };
    let found = judged(&log(&Run::default()), &setup(40.0), Some(&crossed));
    assert_eq!(found.verdict, Verdict::DataUnfit);
    assert!(found.unfit[0].contains("1.4 m/min"), "{:?}", found.unfit);
}

#[test]
fn a_log_without_lit_lamps_is_unfit() {
    let mut channels = log(&Run::default());
    channels.lamp_mask.fill(0);
    channels.lamps_on.fill(0.0);
    let found = judged(&channels, &setup(40.0), Some(&band()));
    assert_eq!(found.verdict, Verdict::DataUnfit);
}

#[test]
fn no_verdict_claims_that_the_liner_is_good() {
    let all = [
        Verdict::InTolerance,
        Verdict::DeviationListed,
        Verdict::NoToleranceGiven,
        Verdict::DataUnfit,
    ];
    for verdict in all {
        let words = verdict.words();
        assert!(
            !words.contains("cured") && !words.contains("safe"),
            "{words}"
        );
    }
}
