//! CCTV surveys: for design, ready to line, before the cure, and after lining. Cameras come from
//! either manhole, their counters are up to half a percent off.

use std::io;

use jiff::civil::Date;
use serde_json::{Value, json};

use crate::{
    dice::{Dice, rounded},
    folder::{Folder, Row, name},
    mistake::Mistake,
    site::{MANHOLE_RADIUS_FT, Pipe, Site, Tap, metres},
    when::{instant, later},
};

/// Minute of the day on which the camera is back after lining.
const POST_START: f64 = 540.0;
/// Pipe with a fold below the limit, by the owner's number.
pub(crate) const FOLDED: usize = 17;

/// What a camera that turned back did not see: less than from the last lateral to the wall, m.
const UNSEEN_M: f64 = 4.0;

/// Surveys of which the film is kept, and when they are made.
pub(crate) const FILMED: [(&str, &str); 3] = [
    ("ready", "before pull-in"),
    ("pre-cure", "before the lamps"),
    ("post", "after lining"),
];

/// One trip of a camera.
struct Trip {
    with_flow: bool,
    from_centre: bool,
    counter_error: f64,
    /// What the counter reads too much at every station, and its sheet does not say.
    unsaid_m: f64,
}

/// Writes the surveys before lining and those after.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let (mut before, mut after) = (Vec::new(), Vec::new());
    for (place, pipe) in site.pipes.iter().enumerate() {
        let (run, in_run) = site.run_of(place);
        let mut dice = Dice::of(site.seed, &format!("cctv {}", pipe.id));
        let date = later(pipe.day(1, 6), dice.whole(0, 5));
        before.push(survey(pipe, "design", (date, 600.0), &mut dice));
        let ready = run.times.ready_survey + in_run as f64 * 13.0;
        let mut fit = survey(pipe, "ready", (run.date, ready), &mut dice);
        fit.body["readyToLine"] = true.into();
        before.push(fit);
        let inside = run.times.pre_cure.0 + in_run as f64 * 6.0;
        let mut inside = survey(pipe, "pre-cure", (run.date, inside), &mut dice);
        let found = pipe.taps.iter().filter(|tap| !is_missed(pipe, tap));
        inside.body["sightings"] = found.map(ticked).collect();
        before.push(inside);
        let back = POST_START + dice.between(0.0, 240.0).round();
        after.push(survey(pipe, "post", (later(run.date, 1), back), &mut dice));
    }
    folder.records("surveys-before.jsonl", &before)?;
    folder.records("surveys-after.jsonl", &after)
}

/// Whether nobody looked for a lateral in the film before the lamps.
fn is_missed(pipe: &Pipe, tap: &Tap) -> bool {
    let missed = pipe.first_opened().map(|tap| &tap.id);
    pipe.has(Mistake::UntickedLateral) && missed == Some(&tap.id)
}

/// A lateral that was ticked off there.
fn ticked(tap: &Tap) -> Value {
    json!({ "lateral": name("laterals", &tap.id), "seen": true })
}

fn survey(pipe: &Pipe, word: &str, (date, minute): (Date, f64), dice: &mut Dice) -> Row {
    let is_post = word == "post";
    let wrong_datum = is_post && pipe.has(Mistake::StationDatum);
    let trip = Trip {
        with_flow: wrong_datum || dice.whole(0, 2) > 0,
        from_centre: !wrong_datum && dice.whole(0, 5) == 0,
        counter_error: dice.between(-0.005, 0.005),
        unsaid_m: if wrong_datum { radius_m() } else { 0.0 },
    };
    let purpose = match word {
        "design" => "DESIGN",
        "ready" => "READY_TO_LINE",
        "pre-cure" => "PRE_CURE",
        _ => "POST_LINING",
    };
    let between = if trip.from_centre {
        2.0 * radius_m()
    } else {
        0.0
    };
    let unseen = if is_post && pipe.has(Mistake::ShortSurvey) {
        UNSEEN_M
    } else {
        0.0
    };
    let length = trip.counted(pipe.wall_to_wall_m() + between - unseen) + trip.unsaid_m;
    let datum = if trip.from_centre {
        "DATUM_MANHOLE_CENTRE"
    } else {
        "DATUM_INSIDE_WALL"
    };
    let from = if trip.with_flow {
        &pipe.upstream
    } else {
        &pipe.downstream
    };
    let has_film = FILMED.iter().any(|(filmed, _)| *filmed == word);
    let film = has_film.then(|| name("attachments", &format!("film-{}-{word}", pipe.id)));
    let body = json!({
        "segment": name("segments", &pipe.id),
        "purpose": format!("SURVEY_PURPOSE_{purpose}"),
        "startTime": instant(date, minute),
        "fromManhole": from,
        "direction": if trip.with_flow { "DIRECTION_WITH_FLOW" } else { "DIRECTION_AGAINST_FLOW" },
        "datum": datum,
        "surveyedLengthM": rounded(length, 2),
        "complete": true,
        "operator": "camera operator",
        "observations": observations(pipe, word, &trip, dice),
        "media": film.into_iter().collect::<Vec<_>>(),
    });
    Row {
        id: format!("{}-{word}", pipe.id),
        kind: "survey",
        observed: None,
        body,
    }
}

impl Trip {
    /// What the counter shows after a way.
    fn counted(&self, way_m: f64) -> f64 {
        way_m * (1.0 + self.counter_error)
    }

    /// A place counted from the upstream inside wall, as this trip's sheet gives it.
    fn station_m(&self, pipe: &Pipe, station_m: f64) -> f64 {
        let way = if self.with_flow {
            station_m
        } else {
            pipe.wall_to_wall_m() - station_m
        };
        let before = if self.from_centre { radius_m() } else { 0.0 };
        self.counted(way + before) + self.unsaid_m
    }

    fn clock_h(&self, clock_h: f64) -> f64 {
        if self.with_flow || clock_h == 12.0 {
            clock_h
        } else {
            12.0 - clock_h
        }
    }
}

fn radius_m() -> f64 {
    metres(MANHOLE_RADIUS_FT)
}

fn observations(pipe: &Pipe, word: &str, trip: &Trip, dice: &mut Dice) -> Vec<Value> {
    let class = |tap: &Tap| match word {
        "post" if tap.is_opened() => Some("lateral-open"),
        "post" => None,
        "pre-cure" if is_missed(pipe, tap) => None,
        "pre-cure" => Some("lateral-dimple"),
        _ => Some("lateral"),
    };
    let mut seen: Vec<(f64, Value)> = Vec::new();
    for tap in &pipe.taps {
        let Some(class) = class(tap) else { continue };
        let station = trip.station_m(pipe, tap.station_m() + dice.scattered(0.0, 0.03));
        let clock = trip.clock_h(tap.clock_h);
        seen.push((
            station,
            json!({
                "stationFromM": rounded(station, 2),
                "circumferenceFromH": clock,
                "observationClass": class,
                "filmTimeS": rounded(station * 7.0 + 20.0, 0),
            }),
        ));
    }
    if word == "post" && pipe.id == format!("q-{FOLDED:03}") {
        let station = trip.station_m(pipe, 11.4);
        seen.push((
            station,
            json!({
                "stationFromM": rounded(station, 2),
                "circumferenceFromH": 6.0,
                "observationClass": "wrinkle-longitudinal",
                "quantification1": 3.5,
                "quantification1Unit": "mm",
            }),
        ));
    }
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    seen.into_iter()
        .map(|(_, observation)| observation)
        .collect()
}
