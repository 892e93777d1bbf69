//! Runs with their steps, what became of the laterals, and the end of each day.

use std::io;

use serde_json::{Value, json};

use crate::{
    cure::ENDS_BEYOND_M,
    dice::{Dice, rounded},
    folder::{Folder, Row, name},
    mistake::Mistake,
    site::{Run, Site, Tap, TapState, manhole_m},
    when::{at, instant, local_date, shifted},
};

/// Writes runs, outcomes and day closes, and a day close that must be refused: it comes before the
/// outcomes of its laterals.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let runs: Vec<_> = site.runs.iter().map(|run| row(site, run)).collect();
    folder.records("runs.jsonl", &runs)?;
    let outcomes: Vec<_> = site
        .runs
        .iter()
        .flat_map(|run| outcomes(site, run))
        .collect();
    folder.records("outcomes.jsonl", &outcomes)?;
    let closes: Vec<_> = site.runs.iter().map(day_close).collect();
    folder.records("day-closes.jsonl", &closes)?;
    folder.records("refused/day-close.jsonl", &closes[..1])
}

fn row(site: &Site, run: &Run) -> Row {
    let mut dice = Dice::of(site.seed, &format!("winch {}", run.id));
    let liner = site.liner_of(run);
    let read = site.read_at_pull_in(run);
    let segments: Vec<_> = run
        .pipes
        .iter()
        .map(|place| name("segments", &site.pipes[*place].id))
        .collect();
    let body = json!({
        "segments": segments,
        "manholes": run.manholes,
        "liner": name("liners", &liner.id),
        "serialAtPullIn": read.serial,
        "outcome": "RUN_OUTCOME_COMPLETE",
        "steps": steps(run),
        "pullForceMaxKn": rounded(dice.between(6.0, 14.0), 1),
        "pullForceAllowedKn": 22.0,
        "elongationPercent": rounded(dice.between(0.3, 1.1), 2),
        "intermediateManholesM": manhole_m() * (run.pipes.len() - 1) as f64,
        "endsBeyondWallsM": ENDS_BEYOND_M,
        "flowControl": if run.pipes.len() > 1 { "upstream-diversion" } else { "plug-and-hold" },
        "crewLead": format!("lead of crew {}", run.crew),
    });
    Row {
        id: run.id.clone(),
        kind: "run",
        observed: None,
        body,
    }
}

fn steps(run: &Run) -> Vec<Value> {
    let times = &run.times;
    let tested = times
        .leak
        .first()
        .zip(times.leak.last())
        .map(|(first, last)| (first.0, last.1));
    let mut steps = vec![
        ("CLEANING", times.cleaning),
        ("FLOW_CONTROL", times.flow_control),
        (
            "SLIP_SHEET",
            (times.pull_in.0 - 10.0, times.pull_in.0 - 2.0),
        ),
        ("PULL_IN", times.pull_in),
        ("INFLATION", times.inflation),
        ("PRE_CURE_CCTV", times.pre_cure),
        ("CURE", times.cure),
        ("COOL_DOWN", times.cool_down),
        ("FILM_REMOVAL", times.film),
        ("END_CUT", times.cut),
    ];
    steps.extend(tested.map(|tested| ("LEAK_TEST", tested)));
    steps.push(("REOPENING", times.reopening));
    steps.push(("BRUSHING", times.brushing));
    steps.push(("END_SEAL", times.sealing));
    steps.into_iter().map(|step| step_json(run, step)).collect()
}

/// The cure is noted by the logger's clock, everything else by the foreman's watch.
fn step_json(run: &Run, (word, (from, to)): (&str, (f64, f64))) -> Value {
    let ahead = if word == "CURE" {
        run.clock_ahead_s
    } else {
        0.0
    };
    let time = |minute| shifted(at(run.date, minute), ahead).to_string();
    let mut step = json!({
        "step": format!("STEP_KIND_{word}"),
        "startTime": time(from),
        "endTime": time(to),
        "by": format!("crew {}", run.crew),
    });
    if ahead != 0.0 {
        step["clockOffsetS"] = ahead.into();
    }
    step
}

fn outcomes(site: &Site, run: &Run) -> Vec<Row> {
    let mut dice = Dice::of(site.seed, &format!("outcomes {}", run.id));
    let mut rows = Vec::new();
    for (place, number, minute) in &run.times.opened {
        let tap = &site.pipes[*place].taps[*number];
        rows.push(outcome(
            run,
            tap,
            json!({
                "outcome": "REOPENING_OUTCOME_OPEN",
                "openedTime": instant(run.date, *minute),
                "openingPercent": rounded(dice.between(96.0, 100.0), 0),
                "brushed": true,
                "discRecovered": true,
                "flowSeenTime": instant(run.date, minute + 2.0),
                "flowMedia": [name("attachments", &format!("flow-{}", tap.id))],
            }),
        ));
    }
    let pipes = run.pipes.iter().map(|place| &site.pipes[*place]);
    for pipe in pipes.filter(|pipe| !pipe.has(Mistake::ClosedLateral)) {
        for tap in pipe.taps.iter().filter(|tap| !tap.is_opened()) {
            let word = match tap.state {
                TapState::GivenUp => "OWNER_ABANDONED",
                _ => "LEFT_CLOSED_BY_DIRECTION",
            };
            rows.push(outcome(
                run,
                tap,
                json!({
                    "outcome": format!("REOPENING_OUTCOME_{word}"),
                    "directionDocument": name("documents", &format!("word-{}", tap.id)),
                }),
            ));
        }
    }
    rows
}

fn outcome(run: &Run, tap: &Tap, mut body: Value) -> Row {
    body["lateral"] = name("laterals", &tap.id).into();
    body["run"] = name("runs", &run.id).into();
    Row {
        id: tap.id.clone(),
        kind: "lateralOutcome",
        observed: None,
        body,
    }
}

fn day_close(run: &Run) -> Row {
    let body = json!({
        "workDate": local_date(run.date),
        "crew": run.crew,
        "runs": [name("runs", &run.id)],
        "closeTime": instant(run.date, run.times.sealing.1 + 25.0),
    });
    let id = format!("day-{}-{}", run.date, run.crew.to_lowercase());
    Row {
        id,
        kind: "dayClose",
        observed: None,
        body,
    }
}
