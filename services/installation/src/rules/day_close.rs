//! The day's hard stop: no lateral that may be live is left without an answer over night.

use obvert_ledger::{Assert, Expect};
use obvert_proto::{
    Problem, Violation,
    common::v1::Reason,
    installation::v1::{DayClose, LateralOutcome, ReopeningOutcome, Run, RunOutcome},
    project::v1::{Lateral, LateralState},
};
use obvert_records::{Named, Related, names::id_of};

/// Laterals of the day's segments, their registers, and what became of each in the day's runs.
pub(super) fn related(close: &DayClose, named: &Named) -> Vec<Related> {
    let mut wanted = Vec::new();
    for (name, run) in lined(close, named) {
        for segment in &run.segments {
            let of = |collection| Related {
                target: segment.clone(),
                collection,
            };
            wanted.extend([of("laterals"), of("lateralRegisters")]);
        }
        wanted.push(Related {
            target: name.clone(),
            collection: "lateralOutcomes",
        });
    }
    wanted
}

/// What must still hold when the day is written as closed.
///
/// # Errors
///
/// `ACT_REFUSED` with every lateral that is neither open with flow seen, nor settled otherwise, nor
/// listed as shut; `FIELDS_INVALID` for a home that is not of the day's segments.
pub(super) fn judge(close: &DayClose, named: &Named) -> Result<Vec<Assert>, Problem> {
    let runs = lined(close, named);
    let laterals: Vec<_> = named
        .all::<Lateral>()
        .into_iter()
        .filter(|(_, lateral)| {
            runs.iter()
                .any(|(_, run)| run.segments.contains(&lateral.segment))
        })
        .collect();
    let elsewhere = close.homes_shut.iter().enumerate().filter(|(_, home)| {
        laterals
            .iter()
            .all(|(record, _)| record.name != home.lateral)
    });
    let elsewhere: Vec<_> = elsewhere
        .map(|(index, home)| {
            let lateral = id_of(&home.lateral);
            let message = format!("names {lateral}, which enters no segment of the day's runs");
            Violation::new(format!("day_close.homes_shut[{index}].lateral"), message)
        })
        .collect();
    if !elsewhere.is_empty() {
        return Err(Problem::fields(elsewhere));
    }
    let outcomes = named.all::<LateralOutcome>();
    let mut unsettled = Vec::new();
    for (record, lateral) in &laterals {
        let may_be_live = matches!(
            lateral.state(),
            LateralState::Active | LateralState::Unknown
        );
        let told = close
            .homes_shut
            .iter()
            .any(|home| home.lateral == record.name);
        if !may_be_live || told {
            continue;
        }
        for (run, _) in runs
            .iter()
            .filter(|(_, run)| run.segments.contains(&lateral.segment))
        {
            let settled = outcomes
                .iter()
                .find(|(_, o)| o.lateral == record.name && o.run == **run);
            if let Some(why) = open_question(lateral.state(), settled.map(|(_, outcome)| outcome)) {
                let message = format!(
                    "{} of segment {} at {:.2} m {why}",
                    id_of(&record.name),
                    id_of(&lateral.segment),
                    lateral.station_m
                );
                unsettled.push(Violation::new(record.name.clone(), message));
            }
        }
    }
    if !unsettled.is_empty() {
        let count = unsettled.len();
        let laterals = match count {
            1 => "1 lateral that may be live is not open; open it".to_owned(),
            _ => format!("{count} laterals that may be live are not open; open them"),
        };
        let message = format!(
            "the day cannot be closed: {laterals} with flow seen, or list each home as shut with \
             its owner told"
        );
        let problem = Problem::new(Reason::ActRefused, message).fact("lateral_count", count);
        return Err(problem.with_violations(unsettled));
    }
    Ok(pinned(close, named))
}

/// Runs of the day that closed laterals. One given up before the lamps were lit left none shut.
fn lined<'a>(close: &'a DayClose, named: &Named) -> Vec<(&'a String, Run)> {
    let read = |name: &'a String| named.get::<Run>(name).map(|run| (name, run));
    let shut = |(_, run): &(&String, Run)| run.outcome() != RunOutcome::AbortedBeforeLights;
    close.runs.iter().filter_map(read).filter(shut).collect()
}

/// Why an outcome, or its absence, leaves a lateral unsettled.
fn open_question(state: LateralState, outcome: Option<&LateralOutcome>) -> Option<&'static str> {
    match outcome {
        None => Some("has no outcome"),
        Some(one) => match one.outcome() {
            ReopeningOutcome::Open if one.flow_seen_time.is_none() => {
                Some("is cut open and no flow was seen")
            }
            ReopeningOutcome::NotFound if state == LateralState::Active => {
                Some("is proven live and was not found")
            }
            ReopeningOutcome::Unspecified => Some("has an outcome that says nothing"),
            _ => None,
        },
    }
}

/// Everything the judgement rests on stays as it was read.
fn pinned(close: &DayClose, named: &Named) -> Vec<Assert> {
    use obvert_proto::project::v1::LateralRegister;
    let laterals = named.all::<Lateral>().into_iter().map(|(record, _)| record);
    let registers = named
        .all::<LateralRegister>()
        .into_iter()
        .map(|(record, _)| record);
    let outcomes = named
        .all::<LateralOutcome>()
        .into_iter()
        .map(|(record, _)| record);
    let records = laterals.chain(registers).chain(outcomes);
    let pin = |name: String, revision| Assert {
        name,
        expect: Expect::Revision(revision),
    };
    let mut asserts: Vec<_> = records
        .map(|record| pin(record.name, record.revision))
        .collect();
    asserts.extend(
        close
            .runs
            .iter()
            .map(|run| pin(run.clone(), named.revision(run))),
    );
    asserts
}
