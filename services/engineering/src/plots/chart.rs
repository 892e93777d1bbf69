//! A line chart in numbers.

use super::layout::draw;

/// A drawn plot.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// The picture, a whole SVG file.
    pub svg: String,
    /// What it shows, as a heading.
    pub title: String,
    /// What it shows in words and figures, for a reader who cannot see it.
    pub alt: String,
}

/// What a line chart shows. Limits, notes and series are labelled beside themselves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Chart {
    /// Heading.
    pub title: String,
    /// What it shows in words and figures.
    pub alt: String,
    /// Name and unit of the horizontal axis.
    pub x_label: String,
    /// Name and unit of the vertical axis.
    pub y_label: String,
    /// Whether the vertical axis begins at zero.
    pub from_zero: bool,
    /// Lines; at most seven are told apart.
    pub series: Vec<Series>,
    /// Lower and upper limit between which the ground is shaded, where both are given.
    pub band: Option<(f64, f64)>,
    /// Limit lines across the chart.
    pub limits: Vec<Limit>,
    /// Laterals and manholes on the horizontal axis.
    pub marks: Vec<Mark>,
    /// Laterals and manholes on the vertical axis, where that one counts stations.
    pub side_marks: Vec<Mark>,
    /// Remarks at a point.
    pub notes: Vec<Note>,
    /// Sentence added to the caption, or empty.
    pub caption: String,
}

/// One line of a chart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Series {
    /// Name beside the line.
    pub label: String,
    /// Points in the order in which they are joined; one that is no number breaks the line.
    pub points: Vec<(f64, f64)>,
}

/// A limit across the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Name beside the line, with figure and unit.
    pub label: String,
    /// Where it lies on the vertical axis.
    pub value: f64,
}

/// What a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// A lateral, drawn as a triangle.
    Lateral,
    /// A manhole, drawn as a square.
    Manhole,
}

/// A place on the horizontal axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What is there.
    pub kind: MarkKind,
    /// Name, kept short.
    pub label: String,
    /// Station, m.
    pub station_m: f64,
}

/// A remark at a point of the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// Place along the horizontal axis.
    pub x: f64,
    /// Place along the vertical axis.
    pub y: f64,
    /// The remark, kept short.
    pub text: String,
}

impl Chart {
    /// The chart as a plot. A chart without points says so instead of an empty frame.
    pub fn drawn(self) -> Plot {
        let svg = draw(&self);
        Plot {
            svg,
            title: self.title,
            alt: self.alt,
        }
    }
}
