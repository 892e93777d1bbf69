//! Observations lie on the way that the camera went.

use obvert_proto::{
    Violation,
    acceptance::v1::{Survey, SurveyPurpose},
};

/// How far an observation may lie beyond the surveyed length, for the camera's look ahead.
const LOOK_AHEAD_M: f64 = 1.0;

pub(super) fn check(survey: &Survey) -> Vec<Violation> {
    let mut wrong = Vec::new();
    let (length, furthest) = (
        survey.surveyed_length_m,
        survey.surveyed_length_m + LOOK_AHEAD_M,
    );
    for (index, seen) in survey.observations.iter().enumerate() {
        let mut push = |field: &str, message: String| {
            wrong.push(Violation::new(
                format!("observations[{index}].{field}"),
                message,
            ));
        };
        let (from, to) = (seen.station_from_m, seen.station_to_m);
        let stations = [("station_from_m", Some(from)), ("station_to_m", to)];
        for (field, station) in stations {
            if let Some(station) = station.filter(|station| *station > furthest) {
                let message = format!(
                    "is {station} m, beyond the surveyed {length} m and {LOOK_AHEAD_M} m of look \
                     ahead: correct one of the two"
                );
                push(field, message);
            }
        }
        if let Some(to) = to.filter(|to| *to < from) {
            push(
                "station_to_m",
                format!("is {to} m, before station_from_m {from} m: exchange them"),
            );
        }
        if seen.quantification_1.is_some() && seen.quantification_1_unit.is_empty() {
            push(
                "quantification_1_unit",
                "is missing: a quantification needs its unit".to_owned(),
            );
        }
    }
    if survey.ready_to_line.is_some() && survey.purpose() != SurveyPurpose::ReadyToLine {
        let message = "belongs to a survey with the ready-to-line purpose: leave it out here";
        wrong.push(Violation::new("ready_to_line", message));
    }
    wrong
}
