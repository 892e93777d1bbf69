//! The plots of a cure log in words, with the figures that they show.

use crate::cure_log::{At, Band, Figures};

pub(super) fn speed(figures: &Figures, band: &Band) -> String {
    let speed = &figures.speed;
    let mut text = String::from("Travel speed against station.");
    if let (Some(mean), Some(slowest), Some(fastest)) =
        (speed.mean_m_per_min, speed.slowest, speed.fastest)
    {
        text += &format!(
            " Mean {mean:.2} m/min, slowest {}, fastest {}.",
            at(slowest, 2, "m/min"),
            at(fastest, 2, "m/min")
        );
    } else {
        text += " No travel long enough for a speed.";
    }
    text += &within(band.speed_min_m_per_min, band.speed_max_m_per_min, "m/min");
    text + &share(speed.in_band_percent)
}

pub(super) fn temperature(figures: &Figures, band: &Band) -> String {
    let mut text = String::from("Wall temperature against station, one line per sensor.");
    for (number, sensor) in figures.sensors.iter().enumerate() {
        text += &match sensor.peak {
            Some(peak) => format!(" Sensor {}: peak {}.", number + 1, at(peak, 0, "\u{b0}C")),
            None => format!(" Sensor {}: no reading.", number + 1),
        };
    }
    if figures.sensors.is_empty() {
        text += " No sensor recorded.";
    }
    text += &within(
        band.wall_temperature_min_c,
        band.wall_temperature_max_c,
        "\u{b0}C",
    );
    text + &share(figures.wall.in_band_percent)
}

pub(super) fn pressure(figures: &Figures, band: &Band, over: &str) -> String {
    let pressure = &figures.pressure;
    let mut text = format!("Inner pressure {over}.");
    match pressure.least.zip(pressure.most) {
        Some((least, most)) => {
            text += &format!(
                " While lamps were lit, lowest {}, highest {}.",
                at(least, 3, "bar"),
                at(most, 3, "bar")
            );
        }
        None => text += " No pressure recorded while lamps were lit.",
    }
    text += &within(band.pressure_min_bar_g, band.pressure_max_bar_g, "bar");
    text += &share(pressure.in_band_percent);
    let (dips, overs) = (pressure.dips.count(), pressure.overs.count());
    if dips + overs > 0 {
        text += &format!(" Times below the band: {dips}, above it: {overs}.");
    }
    text
}

pub(super) fn lamps(figures: &Figures, band: &Band) -> String {
    let lamps = &figures.lamps;
    let mut text = String::from("Number of lamps lit against station.");
    if let Some((least, most)) = lamps.least_lit.zip(lamps.most_lit) {
        text += &format!(" In travel {least} to {most} lamps.");
    }
    if let Some(least) = band.lamps_least {
        text += &format!(" The band asks at least {least}.");
    }
    let count = lamps.outages.len();
    if count == 0 {
        return text + " No lamp was off in travel.";
    }
    let longest = lamps.longest_outage_s;
    let mut first = String::new();
    if let Some(outage) = lamps.outages.first() {
        let (from, to) = (outage.stations.from_m, outage.stations.to_m);
        first = format!(", the first over station {from:.1} to {to:.1} m");
    }
    text + &format!(" Lamp outages: {count}{first}; the longest took {longest:.0} s.")
}

pub(super) fn way(figures: &Figures) -> String {
    let mut text = String::from("Station of the train against time.");
    if let Some((way_m, lit_s)) = figures.travel_length_m.zip(figures.lit_s) {
        text += &format!(
            " {way_m:.1} m of travel; lamps lit for {:.1} min.",
            lit_s / 60.0
        );
    }
    let stops = &figures.stoppages;
    match stops
        .iter()
        .max_by(|a, b| a.duration_s.total_cmp(&b.duration_s))
    {
        None => text + " No stop in travel.",
        Some(longest) => {
            let (time, station) = (longest.duration_s, longest.station_m);
            let count = stops.len();
            text + &format!(" Stops: {count}; the longest, {time:.0} s, at station {station:.1} m.")
        }
    }
}

fn at(at: At, decimals: usize, unit: &str) -> String {
    let At {
        value, station_m, ..
    } = at;
    format!("{value:.decimals$} {unit} at station {station_m:.1} m")
}

fn within(min: Option<f64>, max: Option<f64>, unit: &str) -> String {
    match (min, max) {
        (None, None) => " No limit entered.".to_owned(),
        (Some(min), None) => format!(" Least allowed {min} {unit}."),
        (None, Some(max)) => format!(" Most allowed {max} {unit}."),
        (Some(min), Some(max)) => format!(" Allowed {min} to {max} {unit}."),
    }
}

fn share(percent: Option<f64>) -> String {
    percent.map_or_else(String::new, |percent| {
        format!(" {percent:.1} percent of the length lies within.")
    })
}
