//! # Holds
//! Acceptance, until the finished liner was seen whole and without a fault over the limits.
//! # Why
//! A fold, a soft spot or a running joint is found by the camera or by the next rain.
//! # Released when
//! A survey after lining saw the whole segment after the last reopening, its films are on file, and
//! the last survey after lining or repair shows no refused class and no irregularity higher than
//! the larger of the plan's two limits. An irregularity without its height holds.
//! # Evidence
//! CCTV survey, run, lateral outcomes, segment.
//! # Parameters
//! `refused`: classes that always hold; `measured`: classes held against the height limits;
//! `media`: whether films must be on file, true when left out.
//! # Source
//! Irregularity no higher than 2 percent of the diameter or 6 mm, whichever is greater: EN ISO
//! 11296-4 as quoted in D. Stein, Instandhaltung von Kanalisationen (2001). The plan sets the
//! limits.

use obvert_proto::{
    acceptance::v1::{Observation, Survey, SurveyPurpose},
    installation::v1::StepKind,
};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, figure, found, words::ms};
use crate::{
    plan::Operator,
    segment_file::{Kept, step_end_ms},
};

const HEIGHT: (&str, Operator) = ("irregularity_height_mm", Operator::AtMost);
const SHARE: (&str, Operator) = ("irregularity_height_percent", Operator::AtMost);

/// Observation classes in plain words that a plan may name.
const CLASSES: &[&str] = &[
    "wrinkle-longitudinal",
    "wrinkle-circumferential",
    "lift",
    "blister",
    "soft-spot",
    "discolour-overheated",
    "dry-spot",
    "delamination",
    "pinhole",
    "foreign-body",
    "host-obstruction-telegraphed",
    "annular-gap",
    "short-end",
    "ragged-end",
    "end-seal-leak",
    "film-left",
    "lateral-closed",
    "lateral-undercut",
    "lateral-overcut",
    "lateral-offset-cut",
    "disc-not-recovered",
    "infiltration",
    "infiltration-at-lateral",
    "dimple-dead-lateral",
];

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "post-lining-cctv",
    proves: "the finished liner was seen whole and without a fault over the limits",
    parameters: &[
        ParameterKind::words("refused", CLASSES, "classes that always hold").needed(),
        ParameterKind::words(
            "measured",
            CLASSES,
            "classes held against the height limits",
        )
        .needed(),
        ParameterKind::flag("media", "films must be on file; true"),
    ],
    limits: &[HEIGHT, SHARE],
    evidence: &["cctv-survey", "run", "lateral-outcome", "segment"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    if file.surveys_of(SurveyPurpose::PostLining).is_empty() {
        j.missing(
            "cctv-survey",
            "the survey after lining",
            "send the camera through and file it",
        );
        return j.outcome();
    }
    j.runs();
    let Some(last) = file.last_post_survey() else {
        return j.outcome();
    };
    for survey in file.surveys_of(SurveyPurpose::PostLining) {
        j.uses(survey);
    }
    j.uses(last);
    whole(judging, &mut j, last);
    for observation in &last.observations {
        faultless(judging, &mut j, last, observation);
    }
    j.outcome()
}

fn whole(judging: &Judging<'_>, j: &mut Judgement<'_>, survey: &Kept<Survey>) {
    let file = judging.file;
    let start = ms(survey.start_time.as_ref()).unwrap_or_default();
    j.fact("survey_start_ms", start);
    j.fact("complete", survey.complete);
    if !survey.complete {
        let message = format!(
            "survey {} did not see the whole segment: send the camera again",
            survey.number()
        );
        j.hold(found("survey-incomplete", message).of(survey.record()));
    }
    if judging.flag("media", true) && survey.media.is_empty() {
        let message = format!("no film of survey {} is on file: add it", survey.number());
        j.hold(found("survey-without-media", message).of(survey.record()));
    }
    let opened = file
        .outcomes
        .iter()
        .filter_map(|outcome| ms(outcome.opened_time.as_ref()));
    let reopened = file.lining_runs().into_iter().filter_map(|run| {
        step_end_ms(run, StepKind::Brushing).or_else(|| step_end_ms(run, StepKind::Reopening))
    });
    if let Some(last) = opened.chain(reopened).max().filter(|last| start < *last) {
        let message = format!(
            "survey {} began at {}, before the last lateral was done at {}: send the camera again",
            survey.number(),
            file.local_time(start),
            file.local_time(last)
        );
        j.hold(found("survey-before-reopening", message).of(survey.record()));
    }
}

fn faultless(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    survey: &Kept<Survey>,
    observation: &Observation,
) {
    let class = observation.observation_class.as_str();
    let named = |list: &str| judging.words(list).iter().any(|word| word == class);
    let at = figure(observation.station_from_m);
    if named("refused") {
        j.fact(format!("{class} at {at}"), "refused");
        let message = format!(
            "survey {} saw {class} at {at} m, the plan takes none: repair it and survey again",
            survey.number()
        );
        j.hold(
            found("observation-refused", message)
                .of(survey.record())
                .fact("class", class),
        );
    } else if named("measured") {
        height(judging, j, survey, observation);
    }
}

fn height(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    survey: &Kept<Survey>,
    observation: &Observation,
) {
    let class = observation.observation_class.as_str();
    let at = figure(observation.station_from_m);
    let Some(segment) = judging.file.segment() else {
        j.missing("segment", "the segment's record", "file it");
        return;
    };
    let diameter = segment.nominal_diameter_mm;
    let height = match observation.quantification_1_unit.as_str() {
        "mm" => observation.quantification_1,
        "percent" => observation
            .quantification_1
            .map(|share| share / 100.0 * diameter),
        _ => None,
    };
    let Some(height) = height else {
        let message = format!(
            "survey {} saw {class} at {at} m without its height in mm or percent: measure it",
            survey.number()
        );
        j.hold(
            found("observation-not-measured", message)
                .of(survey.record())
                .fact("class", class),
        );
        return;
    };
    let (limit_mm, words) = j.larger_of(HEIGHT.0, SHARE.0, diameter);
    j.fact(format!("{class} at {at}"), height);
    if limit_mm.is_nan() || height > limit_mm + 1e-9 {
        let message = format!(
            "survey {} saw {class} of {} mm at {at} m, the plan takes {} mm ({words}): repair it \
             and survey again",
            survey.number(),
            figure(height),
            figure(limit_mm)
        );
        let found = found("irregularity-too-high", message).of(survey.record());
        j.hold(
            found
                .fact("class", class)
                .fact("height_mm", height)
                .fact("limit_mm", limit_mm),
        );
    }
}
