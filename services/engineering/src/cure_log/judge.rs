//! The figures of a log against a maker's entered tolerance.

use super::deviations::List;
use super::{Band, Deviation, Figures, Setup};

/// Outcome of the comparison. None of them says that a liner is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Every stated limit was measured and kept.
    InTolerance,
    /// At least one deviation is listed; the engineer decides.
    DeviationListed,
    /// No band, or one without limits.
    NoToleranceGiven,
    /// The log or the band cannot be judged.
    DataUnfit,
}

/// Verdict with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The outcome.
    pub verdict: Verdict,
    /// Deviations, by kind and then by time or station.
    pub deviations: Vec<Deviation>,
    /// Why it cannot be judged, each a sentence.
    pub unfit: Vec<String>,
}

impl Verdict {
    /// The outcome in the words of the reports.
    pub fn words(self) -> &'static str {
        match self {
            Self::InTolerance => "within the entered tolerance",
            Self::DeviationListed => "outside the entered tolerance, deviations listed",
            Self::NoToleranceGiven => "no tolerance given",
            Self::DataUnfit => "data unfit",
        }
    }
}

/// Compares figures with the band they were drawn with.
///
/// Give [`figures`](super::figures) the same band and setup: shares and stretches outside are
/// drawn there. A reading that the band judges and the log lacks is itself a deviation, or makes
/// the log unfit when it lacks too many.
///
/// # Equation
///
/// ```text
/// unfit        if the log or the band cannot be judged
/// no tolerance if there is no band, or it states no limit
/// deviation    if anything lies outside, or was not measured
/// within       otherwise
/// ```
///
/// # Units
///
/// Those of the figures.
///
/// # Range
///
/// Any figures.
///
/// # Source
///
/// Own definition.
///
/// # Example
///
/// Own example: without a band there is no verdict on the run.
///
/// ```
/// # use obvert_engineering::cure_log::{Figures, Setup, Verdict, judge};
/// let judged = judge(&Figures::default(), None, &Setup::default());
/// assert_eq!(judged.verdict, Verdict::NoToleranceGiven);
/// ```
pub fn judge(figures: &Figures, band: Option<&Band>, setup: &Setup) -> Judgement {
    let mut unfit = figures.unfit.clone();
    let band = band.filter(|band| band.states_a_limit());
    let mut deviations = Vec::new();
    if let Some(band) = band {
        unfit.extend(band.contradictions());
        // Without figures there is nothing to hold against the band.
        if unfit.is_empty() || figures.range.is_some() {
            let mut list = List {
                figures,
                band,
                setup,
                deviations,
                unfit,
            };
            list.all();
            (deviations, unfit) = (list.deviations, list.unfit);
        }
    }
    let verdict = if !unfit.is_empty() {
        Verdict::DataUnfit
    } else if band.is_none() {
        Verdict::NoToleranceGiven
    } else if deviations.is_empty() {
        Verdict::InTolerance
    } else {
        Verdict::DeviationListed
    };
    Judgement {
        verdict,
        deviations,
        unfit,
    }
}
