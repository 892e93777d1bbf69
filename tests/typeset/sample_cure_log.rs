//! The invented cure log of the sample sheet with its plots.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use obvert_typeset::segment_sheet::{CureFigure, CureLog, Deviation, Mark, Plot};

use super::sample::{figure, state};

pub(crate) fn cure_log() -> CureLog {
    CureLog {
        run: "r-0047, complete".into(),
        record: "cureRecords/c-0047@104".into(),
        source_file: "data/originals/cure/run-0047-light-train-2026-05-04T0902.csv, 4,572 rows, \
                      SHA-256 6ef26ed3bc9e37796ef26ed3bc9e37796ef26ed3bc9e37796ef26ed3bc9e3779"
            .into(),
        tolerance: "Maker's sheet G-3 (invented), revision C, DN 200, wall 6.0 mm, 9 lamps of \
                    500 W; entered as makersSheets/g-3@17"
            .into(),
        verdict: state("outside the entered tolerance", Mark::Failed),
        figures: figures(),
        deviations: deviations(),
        plots: plot_entries(),
    }
}

fn figures() -> Vec<CureFigure> {
    let row =
        |name: &str, value: (&str, &str), limit: (&str, &str), word: &str, mark: Mark| CureFigure {
            name: name.into(),
            value: figure(value.0, value.1, ""),
            limit: figure(limit.0, limit.1, ""),
            state: state(word, mark),
        };
    let (within, outside) = (
        "within the entered tolerance",
        "outside the entered tolerance",
    );
    vec![
        row(
            "Travel speed, fastest",
            ("1.31 m/min", "4.30 ft/min"),
            ("at most 1.25 m/min", "4.10 ft/min"),
            outside,
            Mark::Failed,
        ),
        row(
            "Travel speed, mean",
            ("1.18 m/min", "3.87 ft/min"),
            ("0.90 to 1.25 m/min", "2.95 to 4.10 ft/min"),
            within,
            Mark::Met,
        ),
        row(
            "Inner pressure, lowest",
            ("51.8 kPa", "7.5 psi"),
            ("at least 50.0 kPa", "7.3 psi"),
            within,
            Mark::Met,
        ),
        row(
            "Wall temperature, peak",
            ("118 °C", "244 °F"),
            ("none entered", ""),
            "no tolerance given",
            Mark::NotApplicable,
        ),
        row(
            "Length closure against the run",
            ("0.44 m", "1.4 ft"),
            ("at most 1.37 m", "4.5 ft"),
            within,
            Mark::Met,
        ),
    ]
}

fn deviations() -> Vec<Deviation> {
    vec![
        Deviation {
            stations: figure(
                "31.20 to 31.55 m",
                "102.4 to 103.5 ft",
                "inside wall MQ-114",
            ),
            what: "lamp 4 off while travelling".into(),
            extent: "18 s; index 0.91 of the reference".into(),
            action: "engineer reviewed, no action".into(),
        },
        Deviation {
            stations: figure(
                "70.10 to 71.30 m",
                "230.0 to 233.9 ft",
                "inside wall MQ-114",
            ),
            what: "faster than 1.25 m/min".into(),
            extent: "1.31 m/min at most, 55 s".into(),
            action: "no action recorded".into(),
        },
    ]
}

fn plot_entries() -> Vec<Plot> {
    let plot = |file: &str, caption: &str, alt: &str| Plot {
        file: file.into(),
        caption: caption.into(),
        alt: alt.into(),
    };
    vec![
        plot(
            "plots/speed.svg",
            "Travel speed over station; the dashed line is the entered limit. 4,572 samples \
                 drawn as least and greatest per column.",
            "Line plot: travel speed stays near 1.2 m/min and passes the limit of 1.25 m/min \
                 between stations 70 and 71 m.",
        ),
        plot(
            "plots/temperature.svg",
            "Wall temperature over station, three sensors, corrected for their offsets.",
            "Line plot: wall temperature rises to 118 degrees Celsius and stays between 90 \
                 and 118.",
        ),
    ]
}

/// Two invented curves as SVG.
pub(crate) fn plots() -> BTreeMap<String, Vec<u8>> {
    let speed = curve("travel speed, m/min", |x| {
        90.0 - 8.0 * (x / 17.0).sin() - bump(x)
    });
    let temperature = curve("wall temperature, °C", |x| 60.0 + 12.0 * (x / 29.0).cos());
    BTreeMap::from([
        ("plots/speed.svg".to_owned(), speed.into_bytes()),
        ("plots/temperature.svg".to_owned(), temperature.into_bytes()),
    ])
}

fn bump(x: f64) -> f64 {
    if (460.0..480.0).contains(&x) {
        30.0
    } else {
        0.0
    }
}

fn curve(title: &str, y_at: impl Fn(f64) -> f64) -> String {
    let mut path = String::new();
    for step in 0..=600 {
        let x = f64::from(step);
        let letter = if step == 0 { 'M' } else { 'L' };
        write!(path, "{letter}{:.1} {:.2} ", 60.0 + x, y_at(x)).expect("a String takes any text");
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 680 180\">\
         <g font-family=\"Libertinus Serif\" font-size=\"13\" fill=\"#26323a\">\
         <text x=\"60\" y=\"16\">{title}</text><text x=\"60\" y=\"175\">MQ-114</text>\
         <text x=\"612\" y=\"175\">MQ-115</text></g>\
         <path d=\"M60 25 V155 H660\" fill=\"none\" stroke=\"#26323a\"/>\
         <path d=\"M60 62 H660\" stroke=\"#26323a\" stroke-dasharray=\"6 4\"/>\
         <path d=\"{path}\" fill=\"none\" stroke=\"#0072b2\" stroke-width=\"1.6\"/></svg>"
    )
}
