//! The cure log of a run.

use serde::Serialize;

use super::{Figure, State};

/// One run's cure log: figures, verdicts against the entered tolerance, deviations and plots.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CureLog {
    /// The run's id and outcome, such as `r-0047, complete`.
    pub run: String,
    /// The cure record, `name@revision`.
    pub record: String,
    /// Native file, its rows and its SHA-256.
    pub source_file: String,
    /// The tolerance rows that applied, with their document and revision, or `none entered`.
    pub tolerance: String,
    /// The verdict on the whole log: `within the entered tolerance`, `outside the entered
    /// tolerance`, `no tolerance given` or `unfit`.
    pub verdict: State,
    /// Figures by channel, judged where a tolerance was entered. Printed as name, value, limit,
    /// verdict.
    pub figures: Vec<CureFigure>,
    /// Stretches outside the tolerance, gaps and stops.
    pub deviations: Vec<Deviation>,
    /// Plots over station or time.
    pub plots: Vec<Plot>,
}

/// One derived figure of a cure log.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CureFigure {
    /// Such as `Travel speed, mean of the travel phase`.
    pub name: String,
    /// Its value.
    pub value: Figure,
    /// The entered tolerance, or `none entered`.
    pub limit: Figure,
    /// Verdict words with shape.
    pub state: State,
}

/// A stretch of the run that the log shows outside its tolerance.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Deviation {
    /// From and to station with datum, such as `31.20 m to 31.55 m`.
    pub stations: Figure,
    /// What was seen, such as `lamp 4 off while travelling`.
    pub what: String,
    /// How far and how long.
    pub extent: String,
    /// What was done about it, or `no action recorded`.
    pub action: String,
}

/// A plot of a cure log.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Plot {
    /// Name of the SVG in [`crate::Document::files`].
    pub file: String,
    /// The line under the plot: what is drawn, and how samples were thinned.
    pub caption: String,
    /// What the plot shows in words, for a reader who cannot see it. Must not be empty.
    pub alt: String,
}
