//! Registered laterals laid over the openings that the camera saw after lining, on one datum.

use obvert_engineering::stations::{Alignment, MatchLimits, Opening, align, reversed};
use obvert_proto::{
    acceptance::v1::{Observation, Survey},
    common::v1::{self, Direction},
    installation::v1::ReopeningOutcome,
    project::v1::{Lateral, Segment},
};

use super::Judging;
use crate::{plan::Operator, segment_file::Kept, stations::from_inside_wall};

/// Residual of a station.
pub(super) const STATION: (&str, Operator) = ("station_residual_m", Operator::AtMost);
/// Residual of a clock position.
pub(super) const CLOCK: (&str, Operator) = ("clock_residual_h", Operator::AtMost);
/// Offset between the two lists.
pub(super) const OFFSET: (&str, Operator) = ("station_offset_m", Operator::AtMost);
/// Scale of the counter.
pub(super) const SCALE: (&str, Operator) = ("counter_scale_percent", Operator::AtMost);

/// Classes of observation that are an opening in the liner.
const OPENINGS: &[&str] = &[
    "lateral-open",
    "lateral-undercut",
    "lateral-overcut",
    "lateral-offset-cut",
];

/// Two lists laid over each other, with what had to be assumed.
pub(super) struct Laid<'a> {
    /// Laterals that were opened, in the order in which the survey passed them.
    pub(super) laterals: Vec<&'a Kept<Lateral>>,
    /// Openings seen, in order of station from the inside wall at which the survey began.
    pub(super) openings: Vec<Opening>,
    /// How they lie over each other; places are those in the two lists.
    pub(super) alignment: Alignment,
    /// Each assumption once, as a sentence.
    pub(super) assumed: Vec<String>,
}

/// Lays the opened laterals over what a survey saw, both counted from where the survey began and
/// looked at its way.
///
/// A counter that is a little off is right at its own zero: seen from the other end, the same scale
/// would show up as an offset.
pub(super) fn lay<'a>(
    judging: &Judging<'a>,
    survey: &Kept<Survey>,
    segment: &Kept<Segment>,
) -> Laid<'a> {
    let file = judging.file;
    let opened = |lateral: &&Kept<Lateral>| {
        let mut outcomes = file
            .outcomes
            .iter()
            .filter(|outcome| outcome.lateral == lateral.name);
        outcomes.any(|outcome| outcome.outcome() == ReopeningOutcome::Open)
    };
    let mut assumed = Vec::new();
    let upstream = segment.upstream_manhole_radius_m;
    let mut before: Vec<(&Kept<Lateral>, Opening)> = file
        .laterals
        .iter()
        .filter(opened)
        .map(|lateral| {
            let station_m = from_wall((lateral.station_m, lateral.datum()), upstream, &mut assumed);
            let label = lateral.number();
            (
                lateral,
                Opening {
                    label,
                    station_m,
                    clock_h: Some(lateral.clock_h),
                },
            )
        })
        .collect();
    before.sort_by(|a, b| a.1.station_m.total_cmp(&b.1.station_m));
    let mut openings = seen(survey, segment, &mut assumed);
    openings.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let (mut laterals, mut registered): (Vec<_>, Vec<_>) = before.into_iter().unzip();
    if survey.direction() == Direction::AgainstFlow {
        laterals.reverse();
        registered = reversed(&registered, segment.length_wall_to_wall_m);
    }
    let number = |limit: (&str, Operator)| judging.limit(limit).map_or(f64::NAN, |l| l.number());
    let limits = MatchLimits {
        station_m: number(STATION),
        clock_h: number(CLOCK),
        offset_m: number(OFFSET),
        scale_percent: number(SCALE),
        ..MatchLimits::default()
    };
    let alignment = align(&registered, &openings, &limits);
    assumed.sort();
    assumed.dedup();
    Laid {
        laterals,
        openings,
        alignment,
        assumed,
    }
}

/// Openings a survey saw, from the inside wall at which it began.
fn seen(survey: &Survey, segment: &Segment, assumed: &mut Vec<String>) -> Vec<Opening> {
    let radius = match survey.direction() {
        Direction::AgainstFlow => segment.downstream_manhole_radius_m,
        _ => segment.upstream_manhole_radius_m,
    };
    let is_opening = |o: &&Observation| OPENINGS.contains(&o.observation_class.as_str());
    survey
        .observations
        .iter()
        .filter(is_opening)
        .map(|o| Opening {
            label: format!("{} at {} m", o.observation_class, o.station_from_m),
            station_m: from_wall((o.station_from_m, survey.datum()), radius, assumed),
            clock_h: middle_h(o),
        })
        .collect()
}

/// Clock position of an observation: the middle of its arc.
fn middle_h(observation: &Observation) -> Option<f64> {
    let from = observation.circumference_from_h?;
    let Some(to) = observation.circumference_to_h else {
        return Some(from);
    };
    let arc = (to - from).rem_euclid(12.0);
    let middle = (from + arc / 2.0) % 12.0;
    Some(if middle == 0.0 { 12.0 } else { middle })
}

/// Station from the inside wall of a manhole of that radius; what had to be assumed is added.
pub(super) fn from_wall(
    station: (f64, v1::Datum),
    manhole_radius_m: Option<f64>,
    assumed: &mut Vec<String>,
) -> f64 {
    let converted = from_inside_wall(station, manhole_radius_m);
    assumed.extend(converted.assumed);
    converted.station.station_m
}
