//! # Holds
//! Acceptance, when openings do not lie where the laterals do.
//! # Why
//! A counter zeroed at the manhole's middle and a cut table counted from its wall put every hole
//! two feet beside its lateral.
//! # Released when
//! The opened laterals and the openings seen after lining, both counted from the inside wall at
//! which the survey began and looked at its way, fit each other with one offset and one scale
//! within the plan's limits, and every pair lies within its station and clock limits.
//! # Evidence
//! Laterals, lateral outcomes, CCTV survey, segment.
//! # Parameters
//! None.
//! # Source
//! Own rule and own formula; the limits are the plan's.

use obvert_engineering::stations;
use obvert_proto::{acceptance::v1::Survey, common::v1::Direction, project::v1::Segment};

use super::{
    Evaluator, Judgement, Judging, Outcome, figure, found,
    lateral_alignment::{self as alignment, Laid},
};
use crate::segment_file::Kept;

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "lateral-stations",
    proves: "the openings lie where the laterals are",
    parameters: &[],
    limits: &[
        alignment::STATION,
        alignment::CLOCK,
        alignment::OFFSET,
        alignment::SCALE,
    ],
    evidence: &["lateral", "lateral-outcome", "cctv-survey", "segment"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    if file.register().is_none() {
        j.missing(
            "lateral-register",
            "the signed lateral register",
            "sign and file it",
        );
    }
    let Some(segment) = file.segment() else {
        j.missing("segment", "the segment's record", "file it");
        return j.outcome();
    };
    let Some(survey) = file.last_post_survey() else {
        j.missing(
            "cctv-survey",
            "the survey after lining",
            "send the camera through and file it",
        );
        return j.outcome();
    };
    j.uses(segment);
    j.uses(survey);
    starts_there(&mut j, survey, segment);
    let laid = alignment::lay(judging, survey, segment);
    for lateral in &laid.laterals {
        j.uses(*lateral);
        j.fact(format!("{}.station_m", lateral.id()), lateral.station_m);
        j.fact(format!("{}.clock_h", lateral.id()), lateral.clock_h);
    }
    for (number, opening) in laid.openings.iter().enumerate() {
        j.fact(
            format!("opening.{number}"),
            format!("{} {:?}", opening.station_m, opening.clock_h),
        );
    }
    for finding in &laid.alignment.findings {
        lies_apart(judging, &mut j, survey, &laid, finding);
    }
    for sentence in &laid.assumed {
        let message = format!("survey {} or the register: {sentence}", survey.number());
        j.note(found("datum-assumed", message).of(survey.record()));
    }
    j.outcome()
}

fn starts_there(j: &mut Judgement<'_>, survey: &Kept<Survey>, segment: &Kept<Segment>) {
    let start = match survey.direction() {
        Direction::AgainstFlow => &segment.downstream_manhole,
        _ => &segment.upstream_manhole,
    };
    j.fact("survey_from", &survey.from_manhole);
    if survey.from_manhole != *start {
        let message = format!(
            "survey {} began at {}, its direction says it began at {start}: correct one of the two",
            survey.number(),
            survey.from_manhole
        );
        let found = found("survey-direction-disagrees", message).of(survey.record());
        j.hold(found.of(segment.record()));
    }
}

fn lies_apart(
    judging: &Judging<'_>,
    j: &mut Judgement<'_>,
    survey: &Kept<Survey>,
    laid: &Laid<'_>,
    finding: &stations::Finding,
) {
    let limit = |limit| {
        judging
            .limit(limit)
            .map_or(String::new(), |limit| limit.words())
    };
    let lateral = |pair: &stations::Pair| laid.laterals[pair.before];
    let (code, value, message) = match finding {
        stations::Finding::DatumOffset { offset_m } => (
            "datum-offset",
            *offset_m,
            format!(
                "survey {} lies {} m off the register, the plan takes {}: find out from which \
                 face each was counted",
                survey.number(),
                figure(*offset_m),
                limit(alignment::OFFSET)
            ),
        ),
        stations::Finding::CounterScale { percent } => (
            "counter-scale",
            *percent,
            format!(
                "the counter of survey {} is {} percent off the register, the plan takes {}: have \
                 the counter checked",
                survey.number(),
                figure(*percent),
                limit(alignment::SCALE)
            ),
        ),
        stations::Finding::StationApart(pair) => (
            "station-apart",
            pair.station_residual_m,
            format!(
                "the opening of lateral {} lies {} m from its station, the plan takes {}: look \
                 whether the lateral is hit",
                lateral(pair).number(),
                figure(pair.station_residual_m),
                limit(alignment::STATION)
            ),
        ),
        stations::Finding::ClockApart(pair) => (
            "clock-apart",
            pair.clock_residual_h.unwrap_or_default(),
            format!(
                "the opening of lateral {} lies {} h from its clock position, the plan takes {}: \
                 look whether the lateral is hit",
                lateral(pair).number(),
                figure(pair.clock_residual_h.unwrap_or_default()),
                limit(alignment::CLOCK)
            ),
        ),
        // Openings that are alone are judged with the laterals' outcomes.
        stations::Finding::NotSeen { .. } | stations::Finding::NotRegistered { .. } => return,
    };
    let records = laid.laterals.iter().map(|lateral| lateral.record());
    j.hold(
        found(code, message)
            .of(survey.record())
            .of_all(records)
            .fact("value", value),
    );
}
