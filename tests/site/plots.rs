//! Plots as SVG text.

use obvert_engineering::cure_log::figures;
use obvert_engineering::plots::{Chart, Mark, MarkKind, Plot, Series, cure_plots};

use super::sample::{Run, band, log, setup};

fn line(points: Vec<(f64, f64)>) -> Chart {
    let series = vec![Series {
        label: "line".to_owned(),
        points,
    }];
    Chart {
        title: "A line".to_owned(),
        from_zero: true,
        series,
        ..Chart::default()
    }
}

/// Heights of all points of the drawn lines; on paper they grow downward.
fn heights(svg: &str) -> Vec<f64> {
    let data = svg
        .split("<path d=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next());
    data.flat_map(|data| data.split(['M', 'L']).filter(|pair| !pair.is_empty()))
        .filter_map(|pair| pair.split(' ').nth(1)?.parse().ok())
        .collect()
}

fn run_plots() -> Vec<Plot> {
    let run = Run {
        stops: vec![(14.0, 65.0)],
        dip: Some((21.0, 22.0, 0.40)),
        ..Run::default()
    };
    let (channels, setup) = (log(&run), setup(run.host_m));
    let found = figures(&channels, &setup, Some(&band()));
    let mark = |kind, label: &str, station_m| Mark {
        kind,
        label: label.to_owned(),
        station_m,
    };
    let marks = [
        mark(MarkKind::Manhole, "MQ-114", 0.0),
        mark(MarkKind::Lateral, "L<1> & \"2\"", 12.0),
        mark(MarkKind::Manhole, "MQ-115", 40.0),
    ];
    cure_plots(&channels, &setup, &found, Some(&band()), &marks)
}

#[test]
fn a_spike_of_one_row_among_twenty_thousand_is_drawn() {
    let flat: Vec<(f64, f64)> = (0..20_000).map(|row| (f64::from(row), 1.0)).collect();
    let mut spiked = flat.clone();
    spiked[12_345].1 = 9.0;
    let highest = |points: Vec<(f64, f64)>| {
        let svg = line(points).drawn().svg;
        let places = heights(&svg);
        assert!(
            places.len() < 4 * 760,
            "{} points for 760 pixels",
            places.len()
        );
        let (top, bottom) = places
            .iter()
            .fold((f64::MAX, f64::MIN), |(a, b), y| (a.min(*y), b.max(*y)));
        bottom - top
    };
    assert!(highest(flat) < 0.01);
    assert!(
        highest(spiked) > 150.0,
        "the spike reaches over most of the frame"
    );
}

#[test]
fn a_missing_value_breaks_the_line() {
    let drawn = line(vec![(0.0, 1.0), (1.0, f64::NAN), (2.0, 1.0)]).drawn();
    let path = drawn.svg.split("<path d=\"").nth(1).unwrap();
    assert_eq!(path.split('"').next().unwrap().matches('M').count(), 2);
}

#[test]
fn a_chart_without_points_says_so() {
    assert!(
        line(vec![])
            .drawn()
            .svg
            .contains("Not recorded in this log.")
    );
}

#[test]
fn names_are_escaped_and_no_script_is_drawn() {
    for plot in run_plots() {
        assert!(!plot.svg.contains("L<1>") && !plot.svg.contains("<script"));
        assert!(
            !plot.svg.contains("NaN") && !plot.svg.contains("inf"),
            "{}",
            plot.title
        );
        assert_eq!(plot.svg.matches("<svg").count(), 1);
        assert!(plot.svg.trim_end().ends_with("</svg>"));
        assert_eq!(
            plot.svg.matches("<text").count(),
            plot.svg.matches("</text>").count()
        );
    }
    assert!(
        run_plots()[0]
            .svg
            .contains("L&lt;1&gt; &amp; &quot;2&quot;")
    );
}

#[test]
fn the_same_log_gives_the_same_bytes() {
    assert_eq!(run_plots(), run_plots());
}

#[test]
fn each_plot_tells_its_figures_in_words() {
    let plots = run_plots();
    assert_eq!(plots.len(), 6);
    assert!(
        plots[0].alt.contains("Allowed 0.8 to 1.2 m/min"),
        "{}",
        plots[0].alt
    );
    assert!(
        plots[2].alt.contains("Times below the band: 1"),
        "{}",
        plots[2].alt
    );
    assert!(plots[5].alt.contains("the longest, 6"), "{}", plots[5].alt);
    assert!(plots.iter().all(|plot| plot.svg.contains(&plot.title)));
}

#[test]
fn labels_of_lines_that_meet_do_not_lie_on_each_other() {
    let mut chart = line((0..100).map(|x| (f64::from(x), 5.0)).collect());
    for name in ["second", "third", "fourth"] {
        let points = (0..100).map(|x| (f64::from(x), 5.001)).collect();
        chart.series.push(Series {
            label: name.to_owned(),
            points,
        });
    }
    let svg = chart.drawn().svg;
    let mut places: Vec<f64> = ["line", "second", "third", "fourth"]
        .map(|name| {
            let text = svg
                .lines()
                .find(|line| line.contains(&format!(">{name}</text>")))
                .unwrap();
            text.split(" y=\"")
                .nth(1)
                .unwrap()
                .split('"')
                .next()
                .unwrap()
                .parse()
                .unwrap()
        })
        .to_vec();
    places.sort_by(f64::total_cmp);
    assert!(
        places.windows(2).all(|pair| pair[1] - pair[0] >= 13.9),
        "{places:?}"
    );
}
