//! # Holds
//! Whatever the owner wants a camera survey of a purpose for: the pipe as found, the last look
//! before the lamps, the inspection before the warranty ends.
//! # Why
//! What nobody looked at before cannot be told from what the work did.
//! # Released when
//! The last survey of the purpose saw the whole segment and has its film on file; a survey before
//! the cure also says that it was made between inflation and the lamps of its run. Where the plan
//! asks for it, every lateral of the signed register that its owner has not given up was ticked off
//! in the film, or is not seen for a reason that is said.
//! # Evidence
//! CCTV survey, run, lateral register, laterals.
//! # Parameters
//! `purpose`: `design`, `pre-cure` or `warranty`. `media`: whether films must be on file; true when
//! left out. `laterals`: whether every lateral must be ticked off; false when left out.
//! # Source
//! The plan's source clause.

use obvert_proto::{
    acceptance::v1::{Survey, SurveyPurpose},
    installation::v1::StepKind,
    project::v1::LateralState,
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
        ParameterKind::flag(
            "laterals",
            "every lateral must be ticked off in the film; false",
        ),
    ],
    limits: &[],
    evidence: &["cctv-survey", "run", "lateral-register", "lateral"],
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
    if judging.flag("laterals", false) {
        ticked_off(judging, &mut j, word, last);
    }
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
                    run.number()
                );
                let found = found("survey-after-lamps", message).of(run.record());
                j.hold(found.of(last.record()));
            }
        }
    }
    j.outcome()
}

/// Holds each lateral that may have to be opened and is neither seen nor explained.
fn ticked_off<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>, word: &str, survey: &Kept<Survey>) {
    j.registered_laterals();
    let laterals = judging.file.laterals.iter();
    for lateral in laterals.filter(|lateral| lateral.state() != LateralState::Abandoned) {
        j.uses(lateral);
        let (id, number) = (lateral.id(), lateral.number());
        let of = |code: &str, message: String| {
            let found = found(code, message).of(survey.record());
            found.of(lateral.record()).fact("lateral", id)
        };
        let mut sightings = survey.sightings.iter();
        let sighting = sightings.find(|sighting| sighting.lateral == lateral.name);
        let reason = sighting.map_or("", |sighting| sighting.reason.trim());
        let seen = sighting.is_some_and(|sighting| sighting.seen);
        j.fact(format!("{id}.seen"), seen);
        match (seen, reason) {
            (true, _) => {}
            (false, "") => {
                let message = format!(
                    "lateral {number} was not ticked off in the {word} survey: look for it in the film, \
                     or say why it is not seen"
                );
                j.hold(of("lateral-not-ticked", message));
            }
            (false, reason) => {
                let message =
                    format!("lateral {number} is not seen in the {word} survey: {reason}");
                j.note(of("lateral-unseen", message));
            }
        }
    }
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
