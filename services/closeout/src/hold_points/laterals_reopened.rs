//! # Holds
//! Acceptance, while one home may still be shut.
//! # Why
//! One lateral that stays closed is sewage in a home; a count that agrees can hide one too many and
//! one too few.
//! # Released when
//! Every registered lateral has exactly one outcome. An open one was cut within the limits,
//! brushed, its disc taken out, and its flow seen and filmed on the day of its outage and within
//! the limit. One left closed has the owner's signed direction, one given up is registered so.
//! Every opening that the last survey after lining saw maps to one opened lateral, and the other
//! way round.
//! # Evidence
//! Lateral register, laterals, lateral outcomes, run, CCTV survey, documents.
//! # Parameters
//! None.
//! # Source
//! All services accounted for: Najafi 2010 p. 297. Opening and outage: the plan's limits. Brushed
//! and discs recovered: City of South Bend IN, Design & Construction Standards, section 4.

use obvert_engineering::stations;
use obvert_proto::{
    installation::v1::{LateralOutcome, ReopeningOutcome, StepKind},
    project::v1::{Lateral, LateralState},
};

use super::{
    Evaluator, Judgement, Judging, Outcome, found, lateral_alignment as alignment,
    words::{hours, ms},
};
use crate::{
    plan::Operator,
    segment_file::{Kept, by_name, step_start_ms},
};

const LEAST: (&str, Operator) = ("lateral_opening_percent", Operator::AtLeast);
const MOST: (&str, Operator) = ("lateral_opening_percent", Operator::AtMost);
const OUTAGE: (&str, Operator) = ("lateral_outage_h", Operator::AtMost);

pub(super) const EVALUATOR: Evaluator = Evaluator {
    name: "laterals-reopened",
    proves: "every registered lateral is open again, or closed by its owner's word",
    parameters: &[],
    limits: &[
        LEAST,
        MOST,
        OUTAGE,
        alignment::STATION,
        alignment::CLOCK,
        alignment::OFFSET,
        alignment::SCALE,
    ],
    evidence: &[
        "lateral-register",
        "lateral",
        "lateral-outcome",
        "run",
        "cctv-survey",
        "document",
    ],
    judge,
};

fn judge(judging: &Judging<'_>) -> Outcome {
    let mut j = judging.start();
    let file = judging.file;
    j.registered_laterals();
    j.runs();
    for lateral in &file.laterals {
        j.uses(lateral);
        one_outcome(judging, &mut j, lateral);
    }
    seen_open(judging, &mut j);
    j.outcome()
}

fn one_outcome<'a>(judging: &Judging<'a>, j: &mut Judgement<'a>, lateral: &Kept<Lateral>) {
    let outcomes: Vec<_> = judging
        .file
        .outcomes
        .iter()
        .filter(|outcome| outcome.lateral == lateral.name)
        .collect();
    for outcome in &outcomes {
        j.uses(*outcome);
    }
    match outcomes[..] {
        [] => {
            let what = format!("what became of lateral {}", lateral.number());
            j.missing_about(
                &lateral.name,
                "lateral-outcome",
                &what,
                "open it and file the outcome",
            );
        }
        [outcome] => judged(judging, j, lateral, outcome),
        _ => {
            let message = format!(
                "lateral {} has {} outcomes on file: keep the true one by revising the others' \
                 lateral",
                lateral.number(),
                outcomes.len()
            );
            let records = outcomes.iter().map(|outcome| outcome.record());
            j.hold(found("lateral-with-two-outcomes", message).of_all(records));
        }
    }
}

fn judged<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
    lateral: &Kept<Lateral>,
    outcome: &Kept<LateralOutcome>,
) {
    let (id, number) = (lateral.id(), lateral.number());
    j.fact(format!("{id}.outcome"), outcome.outcome().as_str_name());
    let of = |code: &str, message: String| {
        found(code, message)
            .of(outcome.record())
            .of(lateral.record())
            .fact("lateral", id)
    };
    match outcome.outcome() {
        ReopeningOutcome::Open => open(judging, j, lateral, outcome),
        ReopeningOutcome::LeftClosedByDirection => {
            let paper = by_name(&judging.file.documents, &outcome.direction_document);
            match paper.filter(|paper| !paper.signed_by.is_empty()) {
                Some(paper) => j.uses(paper),
                None => {
                    let message = format!(
                        "lateral {number} was left closed without the owner's signed direction: file \
                         it, or open the lateral"
                    );
                    j.hold(of("missing-document", message));
                }
            }
        }
        ReopeningOutcome::OwnerAbandoned => {
            if lateral.state() != LateralState::Abandoned {
                let message = format!(
                    "lateral {number} is called abandoned and not registered so: correct the register \
                     with the owner's paper, or open the lateral"
                );
                j.hold(of("abandoned-not-registered", message));
            }
        }
        ReopeningOutcome::NotFound | ReopeningOutcome::Unspecified => {
            let message = format!(
                "lateral {number} was not found behind the liner: search it at its station and open \
                 it"
            );
            j.hold(of("lateral-not-found", message));
        }
    }
}

fn open<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
    lateral: &Kept<Lateral>,
    outcome: &Kept<LateralOutcome>,
) {
    let (id, number) = (lateral.id(), lateral.number());
    let records = [outcome.record(), lateral.record()];
    match outcome.opening_percent {
        Some(percent) => {
            let what = format!("opening of lateral {number}");
            let key = format!("{id}.opening_percent");
            let wider = (what.as_str(), "send the cutter again");
            j.within(("lateral-undercut", &key), percent, LEAST, wider, &records);
            let repair = (what.as_str(), "repair the cut and survey it again");
            j.within(("lateral-overcut", &key), percent, MOST, repair, &records);
        }
        None => j.missing_about(
            &lateral.name,
            "opening-share",
            &format!("the opening of lateral {number}"),
            "measure and file it",
        ),
    }
    let done = [
        (
            outcome.brushed,
            "lateral-not-brushed",
            "was not brushed",
            "brush it",
        ),
        (
            outcome.disc_recovered,
            "disc-not-recovered",
            "left its disc in the sewer",
            "take it out",
        ),
        (
            !outcome.flow_media.is_empty(),
            "flow-not-filmed",
            "has no picture of its flow",
            "file one",
        ),
    ];
    for (fine, code, what, remedy) in done {
        if !fine {
            let message = format!("lateral {number} {what}: {remedy}");
            j.hold(
                found(code, message)
                    .of_all(records.clone())
                    .fact("lateral", id),
            );
        }
    }
    outage(judging, j, lateral, outcome);
}

fn outage<'a>(
    judging: &Judging<'a>,
    j: &mut Judgement<'a>,
    lateral: &Kept<Lateral>,
    outcome: &Kept<LateralOutcome>,
) {
    let file = judging.file;
    let (id, number) = (lateral.id(), lateral.number());
    let times = ms(outcome.opened_time.as_ref()).zip(ms(outcome.flow_seen_time.as_ref()));
    let Some((opened, flow)) = times else {
        let what = format!("when lateral {number} was opened and its flow seen");
        j.missing_about(
            &lateral.name,
            "flow-seen",
            &what,
            "look again and file both times",
        );
        return;
    };
    j.fact(format!("{id}.opened_ms"), format!("{opened} {flow}"));
    let run = j.named(&file.runs, &outcome.run, "run");
    let shut = run.and_then(|run| step_start_ms(run, StepKind::Inflation));
    let Some(shut) = shut else {
        let what = format!("the inflation of the run that closed lateral {number}");
        j.missing_about(
            &lateral.name,
            "inflation-step",
            &what,
            "revise the run with its times",
        );
        return;
    };
    if flow < opened || opened < shut {
        let message = format!(
            "lateral {number} was closed at {}, opened at {} and flowed at {}: correct the times",
            file.local_time(shut),
            file.local_time(opened),
            file.local_time(flow)
        );
        j.hold(found("lateral-times-out-of-order", message).of(outcome.record()));
    }
    if file.local_date(flow) != file.local_date(shut) {
        let message = format!(
            "lateral {number} was closed on {} and flowed on {}: a night without service needs a \
             variance",
            file.local_date(shut),
            file.local_date(flow)
        );
        j.hold(
            found("lateral-shut-over-night", message)
                .of(outcome.record())
                .fact("lateral", id),
        );
    }
    let what = format!("outage of lateral {number}");
    let key = format!("{id}.outage_h");
    let words = (what.as_str(), "a longer outage needs a variance");
    j.within(
        ("outage-too-long", &key),
        hours(shut, flow),
        OUTAGE,
        words,
        &[outcome.record()],
    );
}

fn seen_open(judging: &Judging<'_>, j: &mut Judgement<'_>) {
    let (Some(survey), Some(segment)) = (judging.file.last_post_survey(), judging.file.segment())
    else {
        let remedy = "send the camera through and file the survey";
        j.missing("cctv-survey", "the survey after lining", remedy);
        return;
    };
    j.uses(survey);
    let laid = alignment::lay(judging, survey, segment);
    j.fact("openings_seen", laid.openings.len());
    for finding in &laid.alignment.findings {
        match finding {
            stations::Finding::NotSeen { before } => {
                let lateral = laid.laterals[*before];
                let message = format!(
                    "lateral {} is filed as open, survey {} saw no opening there: look again, and \
                     open it",
                    lateral.number(),
                    survey.number()
                );
                let found = found("opening-not-seen", message).of(lateral.record());
                j.hold(found.of(survey.record()).fact("lateral", lateral.id()));
            }
            stations::Finding::NotRegistered { after } => {
                let opening = &laid.openings[*after];
                let message = format!(
                    "survey {} saw {}, no opened lateral lies there: register it, or repair the \
                     hole",
                    survey.number(),
                    opening.label
                );
                let found = found("opening-not-registered", message).of(survey.record());
                j.hold(found.fact("opening", &opening.label));
            }
            _ => {}
        }
    }
}
