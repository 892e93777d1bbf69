//! # Holds
//! Whatever the owner wants a camera survey of a purpose for: the pipe as found, the last look
//! before the lamps, the inspection before the warranty ends.
//! # Why
//! What nobody looked at before cannot be told from what the work did.
//! # Released when
//! The last survey of the purpose saw the whole segment and has its film on file; a survey before
//! the cure also says that it was made between inflation and the lamps of its run.
//! # Evidence
//! CCTV survey, run.
//! # Parameters
//! `purpose`: `design`, `pre-cure` or `warranty`. `media`: whether films must be on file; true when
//! left out.
//! # Source
//! The plan's source clause.

use obvert_proto::{
    acceptance::v1::{Survey, SurveyPurpose},
    installation::v1::StepKind,
};

use super::{Evaluator, Judgement, Judging, Outcome, ParameterKind, found, words::ms};
use crate::segment_file::{Kept, step_start_ms};

const PURPOSES: &[(&str, SurveyPurpose)] = &[
    ("design", SurveyPurpose::Design),
    ("pre-cure", SurveyPurpose::PreCure),
    ("warranty", SurveyPurpose::Warranty),
];

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "survey-present",
    proves: "a camera survey of the purpose saw the whole segment and its film is on file",
    parameters: &[
        ParameterKind::text(
            "purpose",
            &["design", "pre-cure", "warranty"],
            "why the camera went through",
        )
        .needed(),
        ParameterKind::flag("media", "films must be on file; true"),
    ],
    limits: &[],
    evidence: &["cctv-survey", "run"],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let word = judging.text("purpose").unwrap_or_default();
    let known = PURPOSES.iter().find(|(known, _)| *known == word);
    let purpose = known.map_or(SurveyPurpose::Unspecified, |(_, purpose)| *purpose);
    let surveys = judging.file.surveys_of(purpose);
    let Some(last) = surveys.last().filter(|_| known.is_some()) else {
        let what = format!("the {word} survey");
        j.missing("cctv-survey", &what, "send the camera through and file it");
        return j.outcome();
    };
    whole(judging, &mut j, word, last);
    if purpose == SurveyPurpose::PreCure {
        for run in j.runs() {
            let lamps = step_start_ms(run, StepKind::Cure);
            let before = |survey: &&&Kept<Survey>| {
                let start = ms(survey.start_time.as_ref());
                start
                    .zip(lamps)
                    .is_some_and(|(start, lamps)| start <= lamps)
            };
            if !surveys.iter().any(|survey| before(&survey)) {
                let message = format!(
                    "no pre-cure survey began before the lamps of run {} were lit: correct the \
                     times, or raise a nonconformance",
                    run.id()
                );
                let found = found("survey-after-lamps", message).of(run.record());
                j.hold(found.of(last.record()));
            }
        }
    }
    j.outcome()
}

fn whole(judging: &Judging<'_>, j: &mut Judgement<'_>, word: &str, survey: &Kept<Survey>) {
    j.uses(survey);
    let start = ms(survey.start_time.as_ref()).unwrap_or_default();
    j.fact("survey_start_ms", start);
    j.fact("complete", survey.complete);
    if !survey.complete {
        let message =
            format!("the {word} survey did not see the whole segment: send the camera again");
        j.hold(found("survey-incomplete", message).of(survey.record()));
    }
    if judging.flag("media", true) && survey.media.is_empty() {
        let message = format!("no film of the {word} survey is on file: attach it");
        j.hold(found("survey-without-film", message).of(survey.record()));
    }
}
