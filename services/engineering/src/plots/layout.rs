//! Where the parts of a chart stand on the paper.

use super::axis::{Scale, Ticks, ticks, widened};
use super::decimate::min_max_per_column;
use super::labels::{apart, in_rows, text_width};
use super::svg::{Anchor, BAND, FAINT, Stroke, Svg, TEXT};
use super::{Chart, Mark, MarkKind};

/// A page of paper is about 500 points wide, so that a text of 11 is printed at more than 7 points.
const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 360.0;
const LEFT: f64 = 66.0;
const RIGHT: f64 = 598.0;
const TOP: f64 = 84.0;
/// Top of the frame where no names of marks stand above it.
const TOP_BARE: f64 = 40.0;
const BOTTOM: f64 = 270.0;
/// Rows for the names of marks above the frame, and their height.
const MARK_ROWS: usize = 4;
const MARK_ROW_HEIGHT: f64 = 13.0;
const LABEL_HEIGHT: f64 = 14.0;
const DRAWN_AS: &str = "Drawn as the first, lowest, highest and last value of each pixel column; the full \
                        log holds every row.";
/// Share of the width over which the level of a line's label is taken.
const END_SHARE: f64 = 0.1;
/// Remarks drawn at most.
const NOTES_MAX: usize = 12;

/// Helping line of a mark.
const DOTTED: Stroke<'static> = Stroke {
    colour: "#9a9a9a",
    width: 0.7,
    dash: "1 3",
};

/// Colours of Okabe and Ito, 2008, darkest first, without the yellow.
const COLOURS: [&str; 7] = [
    "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000", "#E69F00", "#56B4E9",
];
const DASHES: [&str; 7] = ["", "8 4", "2 4", "10 3 2 3", "14 4", "4 2", "1 3"];

pub(super) fn draw(chart: &Chart) -> String {
    let mut svg = Svg::new(WIDTH, HEIGHT, &chart.title, &chart.alt);
    svg.text(LEFT, 20.0, Anchor::Start, 15, &chart.title);
    let Some(frame) = Frame::of(chart) else {
        svg.text(LEFT, 60.0, Anchor::Start, 12, "Not recorded in this log.");
        return svg.finished();
    };
    frame.ground(&mut svg, chart);
    let left_out = frame.marks(&mut svg, &chart.marks);
    frame.side_marks(&mut svg, &chart.side_marks);
    frame.limits(&mut svg, chart);
    frame.series(&mut svg, chart);
    frame.side_labels(&mut svg, chart);
    let notes_left_out = frame.notes(&mut svg, chart);
    let mut left = Vec::new();
    if left_out > 0 {
        left.push(format!(
            "Names of marks left out for want of room: {left_out}."
        ));
    }
    if notes_left_out > 0 {
        left.push(format!("Remarks not drawn: {notes_left_out}."));
    }
    let captions = [DRAWN_AS, &chart.caption, &left.join(" ")];
    let captions = captions.into_iter().filter(|caption| !caption.is_empty());
    for (row, caption) in captions.enumerate() {
        let y = BOTTOM + 54.0 + row as f64 * LABEL_HEIGHT;
        svg.text(LEFT, y, Anchor::Start, 10, caption);
    }
    svg.finished()
}

struct Frame {
    x: Scale,
    y: Scale,
    x_ticks: Ticks,
    y_ticks: Ticks,
    top: f64,
}

impl Frame {
    /// None when there is no point to draw.
    fn of(chart: &Chart) -> Option<Self> {
        let points = || chart.series.iter().flat_map(|series| &series.points);
        let sound = || points().filter(|point| point.0.is_finite() && point.1.is_finite());
        let reach = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            })
        };
        let (x_from, x_to) = reach(&mut sound().map(|point| point.0));
        let limits = chart.limits.iter().map(|limit| limit.value);
        let side = chart
            .side_marks
            .iter()
            .map(|mark| mark.station_m)
            .filter(|m| m.is_finite());
        let (mut y_from, y_to) = reach(&mut sound().map(|point| point.1).chain(limits).chain(side));
        if x_from > x_to {
            return None;
        }
        if chart.from_zero {
            y_from = y_from.min(0.0);
        }
        let stations = chart
            .marks
            .iter()
            .map(|mark| mark.station_m)
            .filter(|m| m.is_finite());
        let (x_from, x_to) = reach(&mut stations.chain([x_from, x_to]));
        let (y_from, y_to) = widened(y_from, y_to, 6);
        let top = if chart.marks.is_empty() {
            TOP_BARE
        } else {
            TOP
        };
        let pad = ((x_to - x_from) * 0.01).max(0.01);
        let (x_from, x_to) = (x_from - pad, x_to + pad);
        Some(Self {
            x: Scale {
                from: x_from,
                to: x_to,
                place_from: LEFT,
                place_to: RIGHT,
            },
            y: Scale {
                from: y_from,
                to: y_to,
                place_from: BOTTOM,
                place_to: top,
            },
            x_ticks: ticks(x_from, x_to, 10),
            y_ticks: ticks(y_from, y_to, 6),
            top,
        })
    }

    fn ground(&self, svg: &mut Svg, chart: &Chart) {
        if let Some((low, high)) = chart.band {
            let (top, bottom) = (self.y.place(high), self.y.place(low));
            svg.rect(LEFT, top, RIGHT - LEFT, bottom - top, BAND);
        }
        let faint = Stroke {
            colour: FAINT,
            width: 0.6,
            dash: "",
        };
        let axis = Stroke {
            colour: TEXT,
            width: 1.0,
            dash: "",
        };
        for (value, text) in &self.y_ticks.list {
            let y = self.y.place(*value);
            svg.line((LEFT, y), (RIGHT, y), faint);
            svg.text(LEFT - 6.0, y + 4.0, Anchor::End, 11, text);
        }
        for (value, text) in &self.x_ticks.list {
            let x = self.x.place(*value);
            svg.line((x, BOTTOM), (x, BOTTOM + 4.0), axis);
            svg.text(x, BOTTOM + 17.0, Anchor::Middle, 11, text);
        }
        svg.line((LEFT, BOTTOM), (RIGHT, BOTTOM), axis);
        svg.line((LEFT, self.top), (LEFT, BOTTOM), axis);
        svg.text(
            (LEFT + RIGHT) / 2.0,
            BOTTOM + 34.0,
            Anchor::Middle,
            12,
            &chart.x_label,
        );
        svg.upward(18.0, (self.top + BOTTOM) / 2.0, &chart.y_label);
    }

    /// Draws marks; returns how many names had no room.
    fn marks(&self, svg: &mut Svg, marks: &[Mark]) -> usize {
        let mut sorted: Vec<&Mark> = marks.iter().filter(|m| m.station_m.is_finite()).collect();
        sorted.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
        let places: Vec<(f64, f64)> = sorted
            .iter()
            .map(|mark| (self.x.place(mark.station_m), text_width(&mark.label, 10.0)))
            .collect();
        let rows = in_rows(&places, MARK_ROWS, 4.0);
        for ((mark, (x, _)), row) in sorted.iter().zip(&places).zip(&rows) {
            let row_y = |row: usize| TOP - 8.0 - row as f64 * MARK_ROW_HEIGHT;
            svg.line(
                (*x, row.map_or(TOP, |row| row_y(row) + 3.0)),
                (*x, BOTTOM),
                DOTTED,
            );
            let x = *x;
            match mark.kind {
                MarkKind::Lateral => {
                    let (y, top) = (BOTTOM, BOTTOM - 7.0);
                    svg.shape(&[(x - 4.0, top), (x + 4.0, top), (x, y)], true);
                }
                MarkKind::Manhole => svg.square(x, BOTTOM),
            }
            if let Some(row) = row {
                svg.text(x, row_y(*row), Anchor::Middle, 10, &mark.label);
            }
        }
        rows.iter().filter(|row| row.is_none()).count()
    }

    /// Laterals and manholes on a vertical axis of stations.
    fn side_marks(&self, svg: &mut Svg, marks: &[Mark]) {
        for mark in marks.iter().filter(|mark| mark.station_m.is_finite()) {
            let y = self.y.place(mark.station_m);
            svg.line((LEFT, y), (RIGHT, y), DOTTED);
            match mark.kind {
                MarkKind::Lateral => {
                    let right = LEFT + 7.0;
                    svg.shape(&[(right, y - 4.0), (right, y + 4.0), (LEFT, y)], true);
                }
                MarkKind::Manhole => svg.square(LEFT, y),
            }
        }
    }

    fn limits(&self, svg: &mut Svg, chart: &Chart) {
        let stroke = Stroke {
            colour: TEXT,
            width: 1.2,
            dash: "6 4",
        };
        for limit in &chart.limits {
            let y = self.y.place(limit.value);
            svg.line((LEFT, y), (RIGHT, y), stroke);
        }
    }

    fn series(&self, svg: &mut Svg, chart: &Chart) {
        for (number, series) in chart.series.iter().enumerate() {
            let places = series
                .points
                .iter()
                .map(|(x, y)| (self.x.place(*x), self.y.place(*y)));
            svg.path(&min_max_per_column(places), stroke(number));
        }
    }

    /// Names of lines and limits to the right of the frame, level with where they end.
    fn side_labels(&self, svg: &mut Svg, chart: &Chart) {
        let ends = chart
            .series
            .iter()
            .enumerate()
            .filter_map(|(number, series)| {
                let level = end_level(&series.points)?;
                Some((self.y.place(level), stroke(number), series.label.as_str()))
            });
        let limits = chart.limits.iter().map(|limit| {
            let stroke = Stroke {
                colour: TEXT,
                width: 1.2,
                dash: "6 4",
            };
            (self.y.place(limit.value), stroke, limit.label.as_str())
        });
        let manholes = chart
            .side_marks
            .iter()
            .filter(|mark| mark.kind == MarkKind::Manhole);
        let manholes =
            manholes.map(|mark| (self.y.place(mark.station_m), DOTTED, mark.label.as_str()));
        let labels: Vec<_> = ends.chain(limits).chain(manholes).collect();
        let wished: Vec<f64> = labels.iter().map(|label| label.0).collect();
        let placed = apart(&wished, LABEL_HEIGHT, self.top, BOTTOM);
        for ((end, stroke, text), y) in labels.into_iter().zip(placed) {
            let leader = Stroke {
                colour: FAINT,
                width: 0.8,
                dash: "",
            };
            svg.line((RIGHT + 1.0, end), (RIGHT + 9.0, y), leader);
            svg.line((RIGHT + 10.0, y), (RIGHT + 34.0, y), stroke);
            svg.text(RIGHT + 38.0, y + 4.0, Anchor::Start, 11, text);
        }
    }

    /// Draws remarks; returns how many were not drawn.
    fn notes(&self, svg: &mut Svg, chart: &Chart) -> usize {
        let mut taken: Vec<(f64, f64, f64)> = Vec::new();
        for note in chart.notes.iter().take(NOTES_MAX) {
            let (x, y) = (self.x.place(note.x), self.y.place(note.y));
            svg.ring(x, y);
            let width = text_width(&note.text, 11.0);
            let start = if x + 8.0 + width > RIGHT {
                x - 8.0 - width
            } else {
                x + 8.0
            };
            // Beside a rising line there is room below it, beside a falling one above.
            let step = if rises(chart) {
                LABEL_HEIGHT
            } else {
                -LABEL_HEIGHT
            };
            let lowest = BOTTOM - 6.0;
            let mut row = (y + 1.2 * step).clamp(self.top + LABEL_HEIGHT, lowest);
            let clash = |row: f64| {
                taken.iter().any(|(from, to, other)| {
                    start < *to && start + width > *from && (row - other).abs() < LABEL_HEIGHT
                })
            };
            while clash(row) && row + step <= lowest && row + step >= self.top {
                row += step;
            }
            taken.push((start, start + width, row));
            svg.text(start, row, Anchor::Start, 11, &note.text);
        }
        chart.notes.len().saturating_sub(NOTES_MAX)
    }
}

/// Whether the first line ends higher than it begins.
fn rises(chart: &Chart) -> bool {
    let ends = chart
        .series
        .first()
        .and_then(|s| s.points.first().zip(s.points.last()));
    ends.is_none_or(|(first, last)| last.1 >= first.1)
}

/// Level of a line near its right end: the median over the last part, so that a drop in the
/// last rows does not carry the label away.
fn end_level(points: &[(f64, f64)]) -> Option<f64> {
    let sound = || {
        points
            .iter()
            .filter(|point| point.0.is_finite() && point.1.is_finite())
    };
    let least = sound().map(|point| point.0).fold(f64::INFINITY, f64::min);
    let most = sound()
        .map(|point| point.0)
        .fold(f64::NEG_INFINITY, f64::max);
    let near = most - END_SHARE * (most - least);
    let mut levels: Vec<f64> = sound()
        .filter(|point| point.0 >= near)
        .map(|p| p.1)
        .collect();
    let middle = levels.len() / 2;
    if levels.is_empty() {
        return None;
    }
    Some(*levels.select_nth_unstable_by(middle, f64::total_cmp).1)
}

fn stroke(number: usize) -> Stroke<'static> {
    let colour = COLOURS[number % COLOURS.len()];
    Stroke {
        colour,
        width: 1.6,
        dash: DASHES[number % DASHES.len()],
    }
}
