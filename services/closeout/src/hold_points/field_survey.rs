//! # Holds
//! The order, until the host pipe is measured.
//! # Why
//! A liner is made to measure; drawings are often wrong by more than a liner forgives.
//! # Released when
//! The last field survey read the diameter at both ends and inside, and its length agrees with the
//! register of the segment within the limit.
//! # Evidence
//! Field survey, segment.
//! # Parameters
//! None.
//! # Source
//! Length and inside diameter are verified in the field before ordering: City of Ramsey MN,
//! sanitary sewer lining project manual, items A6 to A14.

use obvert_proto::project::v1::DiameterPlace;

use super::{Evaluator, Judging, Outcome, found, words::ms};
use crate::plan::Operator;

const LENGTH: (&str, Operator) = ("survey_length_difference_percent", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "field-survey",
    proves: "diameter and length of the host pipe were measured in the field",
    parameters: &[],
    limits: &[LENGTH],
    evidence: &["field-survey", "segment"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let Some(survey) = judging.file.field_survey() else {
        j.missing(
            "field-survey",
            "the field survey",
            "measure diameter and length and file it",
        );
        return j.outcome();
    };
    j.uses(survey);
    j.fact(
        "survey_time_ms",
        ms(survey.survey_time.as_ref()).unwrap_or_default(),
    );
    let places = [
        (DiameterPlace::UpstreamEnd, "at the upstream end"),
        (DiameterPlace::Inside, "inside the pipe"),
        (DiameterPlace::DownstreamEnd, "at the downstream end"),
    ];
    for (place, words) in places {
        let readings: Vec<_> = survey
            .diameters
            .iter()
            .filter(|d| d.place() == place)
            .collect();
        if readings.is_empty() {
            let message = format!("no diameter was read {words}: read it and revise the survey");
            j.hold(
                found("diameter-place-missing", message)
                    .of(survey.record())
                    .fact("place", words),
            );
        }
        for (number, reading) in readings.iter().enumerate() {
            let key = format!("{}.{number}", place.as_str_name());
            j.fact(format!("{key}.max_diameter_mm"), reading.max_diameter_mm);
            j.fact(format!("{key}.min_diameter_mm"), reading.min_diameter_mm);
        }
    }
    let Some(segment) = judging.file.segment() else {
        j.missing("segment", "the segment's record", "file it");
        return j.outcome();
    };
    j.uses(segment);
    let register_m = segment.length_wall_to_wall_m;
    let difference = 100.0 * (survey.length_wall_to_wall_m - register_m).abs() / register_m;
    let remedy = format!(
        "the survey says {} m and the register {} m from wall to wall, measure again or revise \
         the register",
        survey.length_wall_to_wall_m, register_m
    );
    j.within(
        ("survey-length-differs", "length_difference_percent"),
        difference,
        LENGTH,
        ("difference of measured and registered length", &remedy),
        &[survey.record(), segment.record()],
    );
    j.outcome()
}
