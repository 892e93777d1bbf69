//! Cure logs of every run, aborted ones included.

use obvert_proto::{
    installation::v1::{CureDeviation, CureFigures, CureRecord, Run},
    material::v1::ToleranceBand,
};
use obvert_typeset::segment_sheet::{CureFigure, CureLog, Deviation, Figure, Mark, Plot, State};

use super::View;
use crate::{
    package::{
        figures::{after, number, on, percent, plain, with_unit},
        words::{self, counted, state},
    },
    segment_file::Kept,
};

pub(super) fn cure_logs(view: &View<'_>) -> Vec<CureLog> {
    let mut entries = Vec::new();
    for run in &view.file.runs {
        let logs = view.file.cure_logs_of(&run.name);
        if logs.is_empty() {
            entries.push(CureLog {
                run: heading(run),
                record: "no cure log on file for this run".to_owned(),
                source_file: "none".to_owned(),
                tolerance: "none entered".to_owned(),
                verdict: state("not judged", Mark::Open),
                ..CureLog::default()
            });
        }
        entries.extend(logs.into_iter().map(|log| entry(view, run, log)));
    }
    entries
}

fn heading(run: &Kept<Run>) -> String {
    format!("{}, {}", run.number(), words::run_outcome(run.outcome()))
}

fn entry(view: &View<'_>, run: &Kept<Run>, log: &Kept<CureRecord>) -> CureLog {
    let drawn = view.logs.iter().find(|drawn| drawn.record == log.name);
    let band = drawn.and_then(|drawn| drawn.band.as_ref());
    let original = view
        .originals
        .iter()
        .find(|original| original.record == log.name);
    let path = original
        .and_then(|o| o.path.as_deref())
        .unwrap_or("not enclosed");
    let plot = |plot: &crate::package::cure::DrawnPlot| Plot {
        file: plot.path.clone(),
        caption: format!("{}, run {}", plot.title, run.number()),
        alt: plot.alt.clone(),
    };
    CureLog {
        run: heading(run),
        record: view.record(log),
        source_file: format!(
            "{path}, rows {} to {}, SHA-256 {}",
            log.first_row, log.last_row, log.file_sha256
        ),
        tolerance: band.map_or("none entered".to_owned(), |(sheet, band)| {
            format!(
                "{}, sheet {}: {}, wall {}, {} of {}; entered as {}",
                sheet.designation,
                sheet.sheet_revision,
                view.units.diameter(band.nominal_diameter_mm).text,
                view.units.wall(band.wall_class_mm).text,
                counted(band.lamp_count, "lamp", "lamps"),
                with_unit(band.lamp_power_w, 0, "W"),
                view.record(sheet)
            )
        }),
        verdict: words::cure_verdict(log.verdict()),
        figures: log
            .figures
            .as_ref()
            .map_or(Vec::new(), |f| figures(view, f, band.map(|b| &b.1))),
        deviations: log
            .deviations
            .iter()
            .map(|found| deviation(view, found))
            .collect(),
        plots: drawn.map_or(Vec::new(), |drawn| drawn.plots.iter().map(plot).collect()),
    }
}

/// A figure judged by a lower and an upper limit, either of which may be absent.
fn judged(
    name: &str,
    value: f64,
    (min, max): (Option<f64>, Option<f64>),
    shown: impl Fn(f64) -> Figure,
) -> CureFigure {
    let limit = match (min, max) {
        (Some(min), Some(max)) => after(&format!("{} to", shown(min).text), shown(max)),
        (Some(min), None) => after("at least", shown(min)),
        (None, Some(max)) => after("at most", shown(max)),
        (None, None) => plain("none entered"),
    };
    let limit = match (min, max) {
        (Some(min), Some(_)) => {
            let low = shown(min).us_customary;
            let us = limit
                .us_customary
                .clone()
                .zip(low)
                .map(|(high, low)| format!("{low} to {high}"));
            Figure {
                us_customary: us,
                ..limit
            }
        }
        _ => limit,
    };
    let outside =
        min.is_some_and(|min| value < min - 1e-9) || max.is_some_and(|max| value > max + 1e-9);
    CureFigure {
        name: name.to_owned(),
        value: shown(value),
        state: match (min.is_none() && max.is_none(), outside || value.is_nan()) {
            (true, _) => no_tolerance(),
            (_, true) => state("outside the entered tolerance", Mark::Failed),
            (_, false) => state("within the entered tolerance", Mark::Met),
        },
        limit,
    }
}

fn no_tolerance() -> State {
    state("no tolerance given", Mark::NotApplicable)
}

fn figures(
    view: &View<'_>,
    figures: &CureFigures,
    band: Option<&ToleranceBand>,
) -> Vec<CureFigure> {
    let units = view.units;
    let band = band.copied().unwrap_or_default();
    let rows = plain(number(f64::from(figures.row_count), 0));
    let logged = units.length(figures.logged_length_m);
    let mut found = vec![
        told("Rows read", rows),
        told("Length travelled with lamps on", logged),
    ];
    found.extend(speeds_and_pressures(view, figures, &band));
    let walls = (
        band.wall_temperature_min_celsius,
        band.wall_temperature_max_celsius,
    );
    let peaks = &figures.wall_temperature_peak_celsius;
    let hottest = peaks
        .iter()
        .copied()
        .filter(|peak| peak.is_finite())
        .reduce(f64::max);
    if let Some(hottest) = hottest {
        let name = "Wall temperature, highest of all sensors";
        found.push(judged(name, hottest, walls, |v| units.temperature(v)));
    }
    // A sensor ahead of the lamps never sees the peak, so one sensor alone is not judged.
    for (place, peak) in peaks.iter().enumerate() {
        let name = format!("Wall temperature, peak of sensor {}", place + 1);
        let value = if peak.is_finite() {
            units.temperature(*peak)
        } else {
            plain("not measured")
        };
        found.push(told(&name, value));
    }
    let shares = [
        (
            "Share of length with speed within",
            figures.speed_in_band_percent,
        ),
        (
            "Share of length with pressure within",
            figures.pressure_in_band_percent,
        ),
        (
            "Share of length with peak temperature within",
            figures.temperature_in_band_percent,
        ),
    ];
    let share = |(name, share): (&str, Option<f64>)| Some(told(name, plain(percent(share?, 1))));
    found.extend(shares.into_iter().filter_map(share));
    found.extend(lamps_and_dose(view, figures));
    let fault = |fault: &String| CureFigure {
        state: state("fault of the data", Mark::Open),
        ..told(fault, plain("noted"))
    };
    found.extend(figures.data_faults.iter().map(fault));
    found
}

fn speeds_and_pressures(
    view: &View<'_>,
    figures: &CureFigures,
    band: &ToleranceBand,
) -> Vec<CureFigure> {
    let units = view.units;
    let (slow, fast) = (band.speed_min_m_per_min, band.speed_max_m_per_min);
    let (low, high) = (band.pressure_min_kpa, band.pressure_max_kpa);
    // The record has no absent for these; a run without any speed or pressure was not measured.
    let known = |any: f64, value: f64| if any > 0.0 { value } else { f64::NAN };
    let speed = |name: &str, value, limits| {
        judged(
            name,
            known(figures.speed_max_m_per_min, value),
            limits,
            |v| units.speed(v),
        )
    };
    let pressure = |name: &str, value, limits| {
        judged(name, known(figures.pressure_max_kpa, value), limits, |v| {
            units.pressure(v)
        })
    };
    vec![
        speed(
            "Travel speed, mean",
            figures.speed_mean_m_per_min,
            (slow, fast),
        ),
        speed(
            "Travel speed, slowest window",
            figures.speed_min_m_per_min,
            (slow, None),
        ),
        speed(
            "Travel speed, fastest window",
            figures.speed_max_m_per_min,
            (None, fast),
        ),
        pressure(
            "Inner pressure, lowest",
            figures.pressure_min_kpa,
            (low, None),
        ),
        pressure(
            "Inner pressure, highest",
            figures.pressure_max_kpa,
            (None, high),
        ),
    ]
}

fn lamps_and_dose(view: &View<'_>, figures: &CureFigures) -> Vec<CureFigure> {
    let units = view.units;
    let off = units.length(figures.lamps_off_band_length_m);
    let stood = plain(with_unit(figures.stopped_with_lamps_s, 0, "s"));
    let mut found = vec![
        told("Length on which fewer lamps burned than allowed", off),
        told("Time standing with lamps on", stood),
    ];
    if let Some(below) = figures.below_reference_length_m {
        let length = on(
            units.length(below),
            "dose index below the reference, ends left out",
        );
        found.push(told("Length below the reference", length));
    }
    if let Some(ends) = figures.end_zones_length_m {
        found.push(told(
            "Start and end zones with a lower index",
            units.length(ends),
        ));
    }
    found
}

/// A figure for which makers state no limit.
fn told(name: &str, value: Figure) -> CureFigure {
    CureFigure {
        name: name.to_owned(),
        value,
        limit: plain("for information"),
        state: state("not judged", Mark::NotApplicable),
    }
}

fn deviation(view: &View<'_>, found: &CureDeviation) -> Deviation {
    let decimals = if found.value.abs() < 10.0 { 2 } else { 1 };
    let figure = |value| with_unit(value, decimals, &found.unit);
    Deviation {
        stations: view.units.stretch(found.station_from_m, found.station_to_m),
        what: found.message.clone(),
        extent: format!("{}, limit {}", figure(found.value), figure(found.limit)),
        action: "none recorded with the log; see the point and nonconformances".to_owned(),
    }
}
