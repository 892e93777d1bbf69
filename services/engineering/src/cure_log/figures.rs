//! All figures of a log, drawn in a few passes over its columns.

use super::{
    Band, Channels, Coverage, Dose, Flags, LampFigures, Phase, PressureFigures, RowCounts, Rows,
    SensorFigures, SensorLag, Setup, SpeedFigures, StationRange, Stoppage, WallPeak,
};
use super::{dose, flags, lag, lamps, phases, pressure, speed, stoppages, temperature, unfit};

/// What a log says of its run. Lists are in order of time or station.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Figures {
    /// What became of the rows.
    pub rows: RowCounts,
    /// Reasons why the log cannot be judged, each a sentence; empty when it can.
    pub unfit: Vec<String>,
    /// Marks of a damaged or doubtful log.
    pub flags: Flags,
    /// Phases in order.
    pub phases: Vec<Phase>,
    /// Speed of the travel phase.
    pub speed: SpeedFigures,
    /// Stops in travel.
    pub stoppages: Vec<Stoppage>,
    /// Lamps in travel.
    pub lamps: LampFigures,
    /// Dose index; none when the lamp power is not known.
    pub dose: Option<Dose>,
    /// Covered length; none without a reference dose or without a dose.
    pub coverage: Option<Coverage>,
    /// Inner pressure while lamps were lit.
    pub pressure: PressureFigures,
    /// Each infrared sensor.
    pub sensors: Vec<SensorFigures>,
    /// Highest temperature of any sensor at each place.
    pub wall: WallPeak,
    /// Distance of each further sensor from the first.
    pub sensor_lags: Vec<SensorLag>,
    /// Stretch that dose and temperatures are drawn over.
    pub range: Option<StationRange>,
    /// Way of the reference point in the travel phase, m.
    pub travel_length_m: Option<f64>,
    /// Length swept by lit lamps, m: the length to compare with the run.
    pub logged_length_m: Option<f64>,
    /// Time from the first lamp lit to the last one off, s.
    pub lit_s: Option<f64>,
}

/// Draws all figures of a log. With a band, shares and stretches outside it are drawn as well.
///
/// A log is always stored; so a log that cannot be read has figures too, with `unfit` filled.
///
/// # Equation
///
/// ```text
/// v(row)   = |Δx| / Δt over the shortest window of at least 10 s and 0.2 m
/// D(x)     = Σ P · Δt · (share of the way within ± pitch / 2 of x) / pitch, by lit lamp
/// in band  = length travelled for the first time within the limits / all such length
/// logged   = highest less lowest station that a lit lamp passed
/// ```
///
/// # Units
///
/// Speeds in m/min, doses in W·s per m, lengths and stations in m, pressures in bar above the
/// air outside, temperatures in degrees C, times in s.
///
/// # Range
///
/// Any rows; what keeps a log from being judged stands in `unfit`. The limits are [`Settings`].
///
/// [`Settings`]: super::Settings
///
/// # Source
///
/// Own definitions; no standard fixes them.
///
/// # Example
///
/// Own example, checked by hand: one lamp of 500 W travels 10 m at 1 m/min.
///
/// ```
/// # use obvert_engineering::cure_log::{Channels, Setup, Train, figures};
/// let channels = Channels {
///     elapsed_s: (0..=600).map(f64::from).collect(),
///     position_m: (0..=600).map(|s| f64::from(s) / 60.0).collect(),
///     lamps_on: vec![1.0; 601],
///     ..Channels::default()
/// };
/// let train = Train {
///     lamp_offsets_m: vec![0.0],
///     lamp_power_w: Some(500.0),
///     ..Train::default()
/// };
/// let found = figures(&channels, &Setup { train, ..Setup::default() }, None);
/// assert!((found.logged_length_m.unwrap() - 10.0).abs() < 1e-9);
/// assert!((found.speed.mean_m_per_min.unwrap() - 1.0).abs() < 1e-9);
/// assert!((found.dose.unwrap().mean_w_s_per_m - 30_000.0).abs() < 1.0);
/// ```
pub fn figures(channels: &Channels, setup: &Setup, band: Option<&Band>) -> Figures {
    let unfit = unfit::columns(channels, setup);
    if !unfit.is_empty() {
        return Figures {
            unfit,
            ..Figures::default()
        };
    }
    let rows = Rows::new(channels, setup);
    let unfit = unfit::rows(&rows, setup);
    let counts = rows.counts;
    if rows.lit_rows.is_none() || setup.train.lamp_offsets_m.is_empty() {
        return Figures {
            rows: counts,
            unfit,
            ..Figures::default()
        };
    }
    let mut found = read(&rows, setup, band);
    found.unfit = unfit;
    found
        .unfit
        .extend(unfit::implausible(found.flags.implausible_rows, setup));
    found
}

fn read(rows: &Rows<'_>, setup: &Setup, band: Option<&Band>) -> Figures {
    let settings = &setup.settings;
    let flags = flags::flags(rows, settings);
    let gap_limit_s = flags::gap_limit_s(flags.median_interval_s, settings);
    let travel = phases::travel_rows(rows, setup.train.length_m());
    let lamps = lamps::lamps(rows, &travel, setup, band);
    let range = setup.host.or(lamps.swept);
    let dose = range.and_then(|range| dose::dose(rows, setup, range, gap_limit_s));
    let reference = band.and_then(Band::reference_dose_w_s_per_m);
    let coverage = dose
        .as_ref()
        .zip(reference)
        .map(|(dose, reference)| dose.coverage(reference, settings.covered_share));
    let warmth =
        range.and_then(|range| temperature::temperatures(rows, setup, range, gap_limit_s, band));
    let sensor_lags = warmth
        .as_ref()
        .map_or_else(Vec::new, |found| lag::lags(found, rows.travel_sign));
    let (sensors, wall) = warmth.map_or_else(Default::default, |found| (found.sensors, found.wall));
    let way_m = |from: usize, to: usize| (rows.station_m[to] - rows.station_m[from]).abs();
    let end = |last: usize| (last + 1).min(rows.len() - 1);
    Figures {
        rows: rows.counts,
        phases: phases::phases(rows, &travel),
        speed: speed::speed(rows, &travel, settings, band),
        stoppages: stoppages::stoppages(rows, &travel, settings),
        pressure: pressure::pressure(rows, settings, band),
        travel_length_m: travel
            .end
            .checked_sub(1)
            .map(|last| way_m(travel.start, last)),
        logged_length_m: lamps.swept.map(|swept| swept.length_m()),
        lit_s: rows
            .lit_rows
            .map(|(first, last)| rows.time_s(end(last)) - rows.time_s(first)),
        unfit: Vec::new(),
        flags,
        lamps,
        dose,
        coverage,
        sensors,
        wall,
        sensor_lags,
        range,
    }
}
