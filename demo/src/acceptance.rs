//! Samples with their way to the laboratory, leak tests, and a deviation that was settled.

use std::io;

use obvert_engineering::{
    leak_air::AirTestPressure,
    units::{ft_from_m, mpa_from_psi},
};
use serde_json::json;

use crate::{
    dice::{Dice, rounded},
    folder::{Folder, Row, name},
    mistake::Mistake,
    site::{Pipe, Run, Site},
    surveys::FOLDED,
    when::{at, instant, later},
    work::DROP_PSI,
};

/// Number printed on the sample of a pipe.
pub(crate) fn sample_number(pipe: &Pipe) -> String {
    format!("QF-S-{}", pipe.id.trim_start_matches("q-"))
}

/// Writes samples, leak tests and the deviation.
pub(crate) fn write(folder: &Folder, site: &Site) -> io::Result<()> {
    let with_run = |place| site.run_of(place);
    let samples = (0..site.pipes.len()).map(|place| sample(site, place, with_run(place)));
    folder.records("samples.jsonl", &samples.collect::<Vec<_>>())?;
    let tests = (0..site.pipes.len()).map(|place| leak_test(site, place, with_run(place)));
    folder.records("leak-tests.jsonl", &tests.collect::<Vec<_>>())?;
    let planted = site.pipes.iter().enumerate();
    let open = planted.filter(|(_, pipe)| pipe.has(Mistake::OpenDeviation));
    let mut deviations: Vec<_> = open.map(|(place, _)| open_deviation(site, place)).collect();
    if site.pipes.len() >= FOLDED {
        deviations.insert(0, deviation(site));
    }
    folder.records("nonconformances.jsonl", &deviations)
}

/// The number is printed in the morning, before there is anything to cut.
fn sample(site: &Site, place: usize, (run, in_run): (&Run, usize)) -> Row {
    let pipe = &site.pipes[place];
    let read = site.read_at_pull_in(run);
    let cut = run.times.cut.0 + 6.0 + in_run as f64;
    let step = |date, minute, by: &str, condition: &str| json!({ "custodyTime": instant(date, minute), "receivedBy": by, "condition": condition });
    let next = later(run.date, 1);
    let body = json!({
        "sampleNumber": sample_number(pipe),
        "run": name("runs", &run.id),
        "segment": name("segments", &pipe.id),
        "linerSerial": read.serial,
        "manhole": run.manholes[in_run + 1],
        "method": "SAMPLE_METHOD_RESTRAINED",
        "cutTime": instant(run.date, cut),
        "hoopDirectionMarked": true,
        "custody": [
            step(run.date, cut + 4.0, "crew's van, locked box", "marked, dry"),
            step(run.date, 1035.0, "Copperbeck office", "marked, dry"),
            step(next, 610.0, "Fernmoss Materials Laboratory", "undamaged"),
        ],
    });
    let id = sample_number(pipe).to_lowercase();
    Row {
        id,
        kind: "sample",
        observed: Some(at(run.date, run.times.cleaning.0)),
        body,
    }
}

fn leak_test(site: &Site, place: usize, (run, in_run): (&Run, usize)) -> Row {
    let pipe = &site.pipes[place];
    let mut dice = Dice::of(site.seed, &format!("leak test {}", pipe.id));
    let (water_m, _) = pipe.in_force();
    let above_invert_m = rounded(water_m + pipe.diameter_mm() / 1000.0, 2);
    let prescribed = AirTestPressure {
        start_pressure_psig: 3.5,
        groundwater_above_invert_ft: ft_from_m(above_invert_m),
    };
    let start_psig = prescribed.pressure_psig().unwrap_or(f64::NAN) + 0.1;
    let share = dice.between(0.15, 0.85);
    let share = if pipe.has(Mistake::ShortLeakTest) {
        1.3
    } else {
        share
    };
    let drop_psi = share * DROP_PSI;
    let kpa = |psi: f64| rounded(mpa_from_psi(psi) * 1000.0, 2);
    let (start, end) = run.times.leak[in_run];
    let body = json!({
        "segment": name("segments", &pipe.id),
        "run": name("runs", &run.id),
        "method": "LEAK_METHOD_LOW_PRESSURE_AIR",
        "startTime": instant(run.date, start),
        "endTime": instant(run.date, end),
        "diameterMm": pipe.diameter_mm(),
        "lengthM": pipe.wall_to_wall_m(),
        "startPressureKpa": kpa(start_psig),
        "endPressureKpa": kpa(start_psig - drop_psi),
        "groundwaterAboveInvertM": above_invert_m,
        "tester": format!("crew {} tester", run.crew),
    });
    Row {
        id: pipe.id.clone(),
        kind: "leakTest",
        observed: None,
        body,
    }
}

/// A fold below the limit, written up all the same and accepted as it is.
fn deviation(site: &Site) -> Row {
    let pipe = &site.pipes[FOLDED - 1];
    let (run, _) = site.run_of(FOLDED - 1);
    let body = json!({
        "subjects": [
            name("segments", &pipe.id),
            name("surveys", &format!("{}-post", pipe.id)),
        ],
        "description": "Longitudinal fold of 3.5 mm at the invert, seen after lining; the plan \
                        allows the larger of 6 mm and 2 percent of the diameter.",
        "ruleSource": "inspection and test plan, irregularities of the finished liner",
        "foundTime": instant(later(run.date, 1), 840.0),
        "foundBy": "inspector",
        "disposition": "DISPOSITION_USE_AS_IS",
        "disposedBy": "Engineer, invented licence NP-20417",
        "disposedTime": instant(later(run.date, 2), 600.0),
        "justification": "The fold lies along the flow and below the limit.",
        "closeTime": instant(later(run.date, 3), 660.0),
        "closedBy": "owner's engineer",
    });
    Row {
        id: "n-001".to_owned(),
        kind: "nonconformance",
        observed: None,
        body,
    }
}

/// Written up and left open.
fn open_deviation(site: &Site, place: usize) -> Row {
    let pipe = &site.pipes[place];
    let (run, _) = site.run_of(place);
    let body = json!({
        "subjects": [name("segments", &pipe.id)],
        "description": "End seal at the downstream manhole was placed wet.",
        "ruleSource": "maker's instruction for end seals",
        "foundTime": instant(later(run.date, 1), 850.0),
        "foundBy": "inspector",
    });
    Row {
        id: format!("n-{}", pipe.id),
        kind: "nonconformance",
        observed: None,
        body,
    }
}
