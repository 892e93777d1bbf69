//! Figures, deviations and verdict of a log, by `obvert_engineering`.

use obvert_engineering::cure_log::{
    Band, Deviation, DeviationKind, Figures, Judgement, Placement, RunLength, Setup, StationRange,
    Train, Verdict, figures, judge,
};
use obvert_proto::{
    dates::from_unix_ms,
    installation::v1::{CureDeviation, CureFigures, CureHeader, CureVerdict},
};

use super::{band::Found, facts::RunFacts, samples::Samples};

/// Kilopascals in a bar.
const KPA_PER_BAR: f64 = 100.0;

/// What a log says, before it is held against its run.
pub(super) struct Analysis {
    pub(super) figures: CureFigures,
    pub(super) verdict: CureVerdict,
    pub(super) deviations: Vec<CureDeviation>,
    /// First and last time with a lamp on, by the reference clock.
    pub(super) lit_ms: Option<(i64, i64)>,
    /// Length swept by lit lamps; absent when no lamp was lit.
    pub(super) logged_length_m: Option<f64>,
}

/// Works out a log.
pub(super) fn analyse(
    samples: Samples,
    header: &CureHeader,
    facts: &RunFacts,
    found: &Found,
) -> Analysis {
    let setup = setup(header, facts);
    let (times, lit) = (samples.time_range_ms(), samples.lit_range_ms());
    let channels = samples.into_channels();
    let band = match found {
        Found::Band(_, band) => Some(band),
        _ => None,
    };
    let drawn = figures(&channels, &setup, band);
    let mut judged = judge(&drawn, band, &setup);
    if let Found::NoKey(why) = found {
        judged.unfit.push(why.clone());
        judged.verdict = Verdict::DataUnfit;
    }
    let offset_ms = (header.clock_offset_s * 1000.0) as i64;
    let mut figures = on_wire(&drawn, &judged, band);
    figures.start_time = times.map(|(first, _)| from_unix_ms(first));
    figures.end_time = times.map(|(_, last)| from_unix_ms(last));
    figures.first_lamp_time = lit.map(|(first, _)| from_unix_ms(first));
    figures.last_lamp_time = lit.map(|(_, last)| from_unix_ms(last));
    Analysis {
        figures,
        verdict: match judged.verdict {
            Verdict::InTolerance => CureVerdict::WithinTolerance,
            Verdict::DeviationListed => CureVerdict::OutsideTolerance,
            Verdict::NoToleranceGiven => CureVerdict::NoToleranceGiven,
            Verdict::DataUnfit => CureVerdict::DataUnfit,
        },
        deviations: judged.deviations.iter().map(deviation).collect(),
        lit_ms: lit.map(|(first, last)| (first - offset_ms, last - offset_ms)),
        logged_length_m: drawn.logged_length_m,
    }
}

/// Length of a run, from its segments and what was entered with it.
pub(super) fn run_length(facts: &RunFacts) -> RunLength {
    RunLength {
        wall_to_wall_m: facts
            .segments
            .iter()
            .map(|(_, s)| s.length_wall_to_wall_m)
            .collect(),
        intermediate_manholes_m: vec![facts.run.intermediate_manholes_m],
        ends_m: [facts.run.ends_beyond_walls_m, 0.0],
    }
}

fn setup(header: &CureHeader, facts: &RunFacts) -> Setup {
    let between_walls_m = run_length(facts).total_m() - facts.run.ends_beyond_walls_m;
    let host = StationRange {
        from_m: 0.0,
        to_m: between_walls_m,
    };
    Setup {
        train: Train {
            lamp_offsets_m: header.lamp_offsets_m.clone(),
            infrared_offsets_m: header.infrared_offsets_m.clone(),
            lamp_power_w: header.lamp_power_in_use_w(),
        },
        placement: Placement {
            station_at_zero_m: -header.datum_offset_m,
            ..Placement::default()
        },
        host: (header.counts_from_inside_wall() && between_walls_m > 0.0).then_some(host),
        ..Setup::default()
    }
}

fn on_wire(drawn: &Figures, judged: &Judgement, band: Option<&Band>) -> CureFigures {
    let coverage = drawn.coverage.as_ref();
    let below = drawn.lamps.below_band.list.iter();
    let stood = drawn
        .stoppages
        .iter()
        .filter(|stop| stop.lamps_most != Some(0));
    CureFigures {
        row_count: i32::try_from(drawn.rows.read).unwrap_or(i32::MAX),
        logged_length_m: drawn.logged_length_m.unwrap_or_default(),
        speed_mean_m_per_min: drawn.speed.mean_m_per_min.unwrap_or_default(),
        speed_min_m_per_min: drawn.speed.slowest.map_or(0.0, |at| at.value),
        speed_max_m_per_min: drawn.speed.fastest.map_or(0.0, |at| at.value),
        speed_in_band_percent: drawn.speed.in_band_percent,
        pressure_min_kpa: drawn
            .pressure
            .least
            .map_or(0.0, |at| at.value * KPA_PER_BAR),
        pressure_max_kpa: drawn.pressure.most.map_or(0.0, |at| at.value * KPA_PER_BAR),
        pressure_in_band_percent: drawn.pressure.in_band_percent,
        wall_temperature_peak_celsius: drawn
            .sensors
            .iter()
            .map(|sensor| sensor.peak.map_or(f64::NAN, |at| at.value))
            .collect(),
        temperature_in_band_percent: drawn.wall.in_band_percent,
        below_reference_length_m: coverage.map(|c| c.between_m),
        end_zones_length_m: coverage.map(|c| c.start_zone_m + c.end_zone_m),
        lamps_off_band_length_m: match band.and_then(|band| band.lamps_least) {
            Some(_) => below
                .map(|span| span.station_to_m - span.station_from_m)
                .sum(),
            None => 0.0,
        },
        stopped_with_lamps_s: stood.map(|stop| stop.duration_s).sum(),
        data_faults: faults(drawn, judged),
        ..CureFigures::default()
    }
}

fn faults(drawn: &Figures, judged: &Judgement) -> Vec<String> {
    let (rows, flags) = (&drawn.rows, &drawn.flags);
    let counted = [
        (rows.duplicate, "rows repeat another row and were dropped."),
        (rows.unplaced, "rows have no time or no position."),
        (
            rows.back_in_time,
            "rows were not in order of time and were sorted.",
        ),
        (
            flags.gaps.count(),
            "gaps without rows while lamps were lit.",
        ),
        (flags.jumps.count(), "jumps of the position."),
        (flags.backward.count(), "stretches travelled backwards."),
        (
            flags.lamp_disagreement_rows,
            "rows whose lamp mask and lamp count differ.",
        ),
    ];
    let counted = counted.into_iter().filter(|(count, _)| *count > 0);
    let mut faults = judged.unfit.clone();
    faults.extend(counted.map(|(count, what)| format!("{count} {what}")));
    faults
}

/// A deviation on the wire, with pressures in kPa.
fn deviation(found: &Deviation) -> CureDeviation {
    let in_bar = found.unit == "bar";
    let factor = if in_bar { KPA_PER_BAR } else { 1.0 };
    let (value, limit) = (found.value * factor, found.limit * factor);
    let (from, to) = (found.station_from_m, found.station_to_m);
    let message = match (in_bar, from, to) {
        (false, ..) => found.words.clone(),
        (true, Some(from), Some(to)) => format!(
            "{}: {value:.1} kPa, limit {limit:.1} kPa, station {from:.2} to {to:.2} m.",
            found.kind.words()
        ),
        (true, ..) => found.words.clone(),
    };
    CureDeviation {
        kind: kind_word(found.kind).to_owned(),
        station_from_m: from.unwrap_or_default(),
        station_to_m: to.unwrap_or_default(),
        value,
        limit,
        unit: if in_bar { "kPa" } else { found.unit }.to_owned(),
        message,
    }
}

fn kind_word(kind: DeviationKind) -> &'static str {
    match kind {
        DeviationKind::TooFast => "speed-above",
        DeviationKind::TooSlow => "speed-below",
        DeviationKind::Stoppage => "stoppage",
        DeviationKind::LampsBelowLeast => "lamps-off-band",
        DeviationKind::PressureLow => "pressure-below",
        DeviationKind::PressureHigh => "pressure-above",
        DeviationKind::WallTooCold => "wall-temperature-below",
        DeviationKind::WallTooHot => "wall-temperature-above",
        DeviationKind::BelowReferenceStart => "below-reference-start",
        DeviationKind::BelowReferenceBetween => "soft-spot",
        DeviationKind::BelowReferenceEnd => "below-reference-end",
        DeviationKind::Gap => "gap",
        DeviationKind::Jump => "position-jump",
        DeviationKind::Backward => "backward-travel",
        DeviationKind::TimeOrder => "time-order",
        DeviationKind::NotMeasured => "not-measured",
    }
}
