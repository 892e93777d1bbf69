//! Cure logs in the neutral layout, row by row, with the faults of real loggers: a counter that is a
//! little off and trembles, a clock minutes ahead, sensors that lag, a pressure that wobbles.

use std::{fmt::Write as _, io};

use crate::{
    dice::Dice,
    folder::{Folder, INVENTED},
    maker::{self, LAMP_PITCH_M, LAMP_POWER_W, LAMPS, SENSOR_OFFSETS_M},
    mistake::Mistake,
    site::{Run, Site},
    when::{at, shifted},
};

/// Minutes of cooling under pressure after the last lamp.
pub(crate) const COOL_DOWN_MIN: f64 = 22.0;
/// How far beyond the inside walls the lamps are lit, m.
const BEYOND_M: f64 = 0.85;
/// Length of liner beyond the inside walls, both ends together, m.
pub(crate) const ENDS_BEYOND_M: f64 = 1.8;
/// Counter zero to the inside wall of the first manhole, m.
const DATUM_OFFSET_M: f64 = 1.1;
/// Shortest and longest time between rows, s.
const STEP_S: (f64, f64) = (2.0, 10.0);
/// Time logged before the first lamp, s.
const HOLD_S: f64 = 480.0;
/// Time constants of a wall that warms and cools, s.
const WARMING_S: f64 = 35.0;
const COOLING_S: f64 = 420.0;

/// Minutes from the first lamp on to the last one off.
pub(crate) fn lit_minutes(run_length_m: f64, speed_m_per_min: f64) -> f64 {
    (run_length_m + 2.0 * BEYOND_M + train_m()) / speed_m_per_min
}

fn train_m() -> f64 {
    LAMP_PITCH_M * (LAMPS - 1) as f64
}

/// Writes the log of every run as it is filed.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    for run in &site.runs {
        let planted = |mistake| {
            run.pipes
                .iter()
                .any(|place| site.pipes[*place].has(mistake))
        };
        let text = if planted(Mistake::ForeignCureLog) {
            let other = site.beside(run);
            let manholes = other.manholes.iter().rev().cloned().collect::<Vec<_>>();
            log(site, other, &manholes, "exported again")
        } else {
            log(site, run, &run.manholes, "")
        };
        folder.write(&format!("cure/{}.csv", run.id), text)?;
    }
    Ok(())
}

fn log(site: &Site, run: &Run, manholes: &[String], note: &str) -> String {
    let mut text = header(site, run, manholes, note);
    let mut train = Train::of(site, run);
    while let Some(row) = train.next() {
        text += &row;
    }
    text
}

fn header(site: &Site, run: &Run, manholes: &[String], note: &str) -> String {
    let owners = run
        .pipes
        .iter()
        .map(|place| site.pipes[*place].owner_id.as_str());
    let liner = site.read_at_pull_in(run);
    let offsets = (0..LAMPS).map(|lamp| format!("{:.2}", lamp as f64 * LAMP_PITCH_M));
    let sensors = SENSOR_OFFSETS_M.map(|offset| format!("{offset:.2}"));
    let travel = if run.with_flow {
        "with_flow"
    } else {
        "against_flow"
    };
    let lines = [
        ("format", "uvl-csv".to_owned()),
        ("version", "1".to_owned()),
        ("about", format!("{INVENTED} {note}").trim().to_owned()),
        ("segment_ids", owners.collect::<Vec<_>>().join(";")),
        ("nodes", manholes.join(";")),
        ("install_id", run.id.clone()),
        ("liner_id", liner.serial.clone()),
        ("travel", travel.to_owned()),
        ("datum", "inside_wall_from_first_node".to_owned()),
        ("datum_offset_m", DATUM_OFFSET_M.to_string()),
        ("ends_beyond_wall_m", "0.9;0.9".to_owned()),
        ("lamp_count", LAMPS.to_string()),
        ("lamp_power_w", LAMP_POWER_W.to_string()),
        ("lamp_offsets_m", offsets.collect::<Vec<_>>().join(";")),
        ("lamp_power_percent", "100".to_owned()),
        ("ir_offsets_m", sensors.join(";")),
        ("clock_offset_s", run.clock_ahead_s.to_string()),
        ("source_tz", crate::when::ZONE.to_owned()),
        ("operator", format!("crew {} cure operator", run.crew)),
        (
            "calibration_refs",
            "CAL-P-11;CAL-IR-07;CAL-ENC-03".to_owned(),
        ),
    ];
    let mut text: String = lines
        .iter()
        .map(|(key, value)| format!("# {key}: {value}\n"))
        .collect();
    text += "row,t_utc,elapsed_s,position_m,speed_m_per_min,lamps_on,lamp_mask,pressure_bar_g,";
    text += "pressure2_bar_g,t_ir1_c,t_ir2_c,t_ir3_c,t_air_c,event,note\n";
    text
}

/// Time between rows, so that a log has about the rows that were asked for.
fn step_s(site: &Site, run: &Run) -> f64 {
    let (least, most) = STEP_S;
    let Some(rows) = site.cure_rows else {
        return least;
    };
    let lit_min = lit_minutes(site.run_length_m(run), run.speed_m_per_min);
    let whole_s = HOLD_S + (lit_min + COOL_DOWN_MIN) * 60.0;
    (whole_s / rows.max(1) as f64).round().clamp(least, most)
}

/// A light train on its way.
struct Train<'a> {
    run: &'a Run,
    dice: Dice,
    length_m: f64,
    step_s: f64,
    pressure_bar: f64,
    row: usize,
    /// Station of the leading lamp.
    lead_m: f64,
    speed: f64,
    warmth: f64,
    lit_before: u32,
    off_for_s: f64,
}

impl<'a> Train<'a> {
    fn of(site: &Site, run: &'a Run) -> Self {
        let pipe = &site.pipes[run.pipes[0]];
        let band = maker::band(pipe.diameter_in, pipe.wall_mm);
        Self {
            run,
            dice: Dice::of(site.seed, &format!("log {}", run.id)),
            length_m: site.run_length_m(run),
            step_s: step_s(site, run),
            pressure_bar: (band.pressure_min_kpa + band.pressure_max_kpa) / 200.0,
            row: 0,
            lead_m: -BEYOND_M,
            speed: 0.0,
            warmth: 0.0,
            lit_before: 0,
            off_for_s: 0.0,
        }
    }

    /// Next row of the log; none once the liner has cooled.
    fn next(&mut self) -> Option<String> {
        if self.off_for_s > COOL_DOWN_MIN * 60.0 {
            return None;
        }
        let elapsed = self.row as f64 * self.step_s;
        let mask = if elapsed < HOLD_S { 0 } else { self.mask() };
        let event = self.event(elapsed, mask);
        let row = self.print(elapsed, mask, event);
        self.move_on(elapsed, mask);
        Some(row)
    }

    /// Lamps between the two ends of the stretch that is lit.
    fn mask(&self) -> u32 {
        let lit = -BEYOND_M - 1e-9..self.length_m + BEYOND_M;
        let station = |lamp: &usize| self.lead_m - *lamp as f64 * LAMP_PITCH_M;
        let lamps = (0..LAMPS).filter(|lamp| lit.contains(&station(lamp)));
        lamps.fold(0, |mask, lamp| mask | 1 << lamp)
    }

    fn event(&self, elapsed: f64, mask: u32) -> &'static str {
        let all = (1 << LAMPS) - 1;
        match (elapsed, self.lit_before, mask) {
            (0.0, ..) => "start",
            (_, 0, mask) if mask != 0 => "ignite",
            (_, before, mask) if before != all && mask == all => "travel",
            (_, before, 0) if before != 0 => "end",
            _ => "",
        }
    }

    fn move_on(&mut self, elapsed: f64, mask: u32) {
        let was_lit = self.lit_before != 0;
        let lit = mask != 0;
        self.off_for_s = if lit || elapsed < HOLD_S {
            0.0
        } else {
            self.off_for_s + self.step_s
        };
        let share = self.step_s / if lit { WARMING_S } else { COOLING_S };
        self.warmth += (f64::from(u8::from(lit)) - self.warmth) * share;
        self.speed = if lit {
            self.run.speed_m_per_min * (1.0 + 0.025 * (elapsed / 47.0).sin())
        } else {
            0.0
        };
        self.lead_m += self.speed * self.step_s / 60.0;
        self.lit_before = if lit || was_lit { mask } else { 0 };
        self.row += 1;
    }

    fn print(&mut self, elapsed: f64, mask: u32, event: &str) -> String {
        let run = self.run;
        let start = at(run.date, run.times.cure.0);
        let time = shifted(start, elapsed - HOLD_S + run.clock_ahead_s);
        let counted = (self.lead_m + DATUM_OFFSET_M) * (1.0 + run.counter_error);
        let position = counted + self.dice.scattered(0.0, 0.0015);
        let filling = (elapsed / 300.0).min(1.0);
        let wobble = 0.006 * (elapsed / 61.0).sin() + self.dice.scattered(0.0, 0.0015);
        let pressure = self.pressure_bar * filling + wobble.max(-self.pressure_bar * filling);
        let second = (pressure - 0.004).max(0.0);
        let [one, two, three] = self.walls_c();
        let air = 21.0 + 26.0 * self.warmth + self.dice.scattered(0.0, 0.3);
        let speed = (self.speed + self.dice.scattered(0.0, 0.01)).max(0.0);
        let mut row = String::new();
        let _ = writeln!(
            row,
            "{},{time},{elapsed:.1},{position:.3},{speed:.2},{},0x{mask:03x},{pressure:.3},\
             {second:.3},{one:.1},{two:.1},{three:.1},{air:.1},{event},",
            self.row + 1,
            mask.count_ones(),
        );
        row
    }

    /// What the sensors read: one ahead of the lamps, one between them, one behind.
    fn walls_c(&mut self) -> [f64; 3] {
        let warmth = self.warmth;
        let places = [(9.0, 0.3), (92.0, 1.0), (78.0, 1.0)]
            .into_iter()
            .zip(SENSOR_OFFSETS_M);
        let mut readings = [0.0; 3];
        for (reading, ((rise, waves), offset)) in readings.iter_mut().zip(places) {
            let station = self.lead_m - offset;
            let wave = 6.0 * (station * 0.55).sin() + 3.0 * (station * 1.7).sin();
            let noise = self.dice.scattered(0.0, 0.6);
            *reading = 21.5 + warmth * (rise + waves * wave) + noise;
        }
        readings
    }
}
