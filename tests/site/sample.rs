//! An invented run of a light train, made row by row; all figures are own.

use obvert_engineering::cure_log::{Band, Channels, Event, Setup, StationRange, Train};

/// What the run is like; stations equal counter positions.
#[derive(Debug, Clone)]
pub(super) struct Run {
    pub(super) host_m: f64,
    pub(super) speed_m_per_min: f64,
    pub(super) step_s: f64,
    /// Station and time of each stop, in order of station.
    pub(super) stops: Vec<(f64, f64)>,
    /// Lamp that is off between two stations of the train's reference point.
    pub(super) lamp_off: Option<(usize, f64, f64)>,
    /// Pressure between two stations, bar.
    pub(super) dip: Option<(f64, f64, f64)>,
}

pub(super) const LAMPS: usize = 9;
pub(super) const LEAD_M: f64 = 0.9;
pub(super) const PRESSURE_BAR_G: f64 = 0.55;

impl Default for Run {
    fn default() -> Self {
        Self {
            host_m: 40.0,
            speed_m_per_min: 1.0,
            step_s: 1.0,
            stops: Vec::new(),
            lamp_off: None,
            dip: None,
        }
    }
}

pub(super) fn setup(host_m: f64) -> Setup {
    let train = Train {
        lamp_offsets_m: (0..LAMPS).map(|lamp| lamp as f64 * 0.16).collect(),
        infrared_offsets_m: vec![-0.25, 0.40, 1.75],
        lamp_power_w: Some(500.0),
    };
    let host = Some(StationRange {
        from_m: 0.0,
        to_m: host_m,
    });
    Setup {
        train,
        host,
        ..Setup::default()
    }
}

pub(super) fn band() -> Band {
    Band {
        speed_min_m_per_min: Some(0.8),
        speed_max_m_per_min: Some(1.2),
        pressure_min_bar_g: Some(0.45),
        pressure_max_bar_g: Some(0.65),
        wall_temperature_min_c: Some(80.0),
        wall_temperature_max_c: Some(140.0),
        reaction_temperature_c: Some(60.0),
        lamps_least: Some(9),
        lamp_power_w: Some(500.0),
    }
}

/// Hold, lighting one lamp each 5 s, travel from before the one wall to past the other, lamps
/// off one each 5 s, and cooling.
pub(super) fn log(run: &Run) -> Channels {
    let mut channels = Channels {
        infrared_c: vec![Vec::new(); 3],
        ..Channels::default()
    };
    let start = -LEAD_M;
    let end = run.host_m + LEAD_M + (LAMPS - 1) as f64 * 0.16;
    let all = (1u32 << LAMPS) - 1;
    let mut time = 0.0;
    let mut row = |station: f64, mask: u32| {
        push(&mut channels, run, time, station, mask);
        time += run.step_s;
    };
    let rows = |seconds: f64| (seconds / run.step_s).round() as usize;
    for _ in 0..rows(60.0) {
        row(start, 0);
    }
    for lit in 1..=LAMPS {
        (0..rows(5.0)).for_each(|_| row(start, (1 << lit) - 1));
    }
    let mut station = start;
    let mut stops = run.stops.iter().peekable();
    while station < end {
        let off = run
            .lamp_off
            .filter(|(_, from, to)| station >= *from && station < *to);
        let mask = off.map_or(all, |(lamp, _, _)| all & !(1 << lamp));
        if let Some((_, seconds)) = stops.next_if(|(place, _)| station >= *place) {
            (0..rows(*seconds)).for_each(|_| row(station, mask));
        }
        row(station, mask);
        station += run.speed_m_per_min / 60.0 * run.step_s;
    }
    for lit in (0..LAMPS).rev() {
        (0..rows(5.0)).for_each(|_| row(end, (1 << lit) - 1));
    }
    for _ in 0..rows(60.0) {
        row(end, 0);
    }
    channels
}

fn push(channels: &mut Channels, run: &Run, time: f64, station: f64, mask: u32) {
    let row = channels.rows() as f64;
    let dip = run
        .dip
        .filter(|(from, to, _)| station >= *from && station < *to && mask != 0);
    let pressure = dip.map_or(PRESSURE_BAR_G, |(_, _, bar)| bar) + 0.003 * (row * 0.7).sin();
    channels.elapsed_s.push(time);
    channels
        .t_unix_ms
        .push(1_778_000_000_000 + (time * 1000.0) as i64);
    channels.position_m.push(station);
    channels.speed_m_per_min.push(run.speed_m_per_min);
    channels.lamps_on.push(f64::from(mask.count_ones()));
    channels.lamp_mask.push(mask);
    channels.pressure_bar_g.push(pressure);
    channels.pressure2_bar_g.push(pressure - 0.004);
    channels.air_c.push(35.0);
    channels.event.push(Event::None);
    for (column, offset) in channels.infrared_c.iter_mut().zip([-0.25, 0.40, 1.75]) {
        column.push(wall_c(station - offset, offset, mask));
    }
}

/// Warm behind the first lamps, cooler behind the last, with a wavy wall.
fn wall_c(station: f64, offset: f64, mask: u32) -> f64 {
    if mask == 0 {
        return 25.0;
    }
    let wave = 6.0 * (station * 0.55).sin() + 3.0 * (station * 1.7).sin();
    match offset {
        offset if offset < 0.0 => 30.0 + wave * 0.3,
        offset if offset < 1.0 => 110.0 + wave,
        _ => 95.0 + wave,
    }
}
