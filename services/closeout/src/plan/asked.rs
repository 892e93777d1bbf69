//! Of which segments a point is asked, by when, and for which rows of the list of evidence.

use obvert_tables::{
    did_you_mean,
    toml_text::{Faults, Reader, listed},
};

use super::{Due, DueEvent, LimitKind, Sampling};
use crate::evidence_list;

/// Words of the ways of sampling.
const SAMPLINGS: &[(&str, Sampling)] = &[
    ("every-segment", Sampling::EverySegment),
    (
        "first-three-then-one-in-five",
        Sampling::FirstThreeThenOneInFive,
    ),
    ("one-per-batch", Sampling::OnePerBatch),
];

/// Words of the events from which days count.
const EVENTS: &[(&str, DueEvent)] = &[
    ("order", DueEvent::Order),
    ("receipt", DueEvent::Receipt),
    ("pull-in", DueEvent::PullIn),
    ("post-lining-cctv", DueEvent::PostLiningCctv),
];

impl Sampling {
    /// Word of a plan's text.
    pub fn word(self) -> &'static str {
        word_of(SAMPLINGS, self)
    }

    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Self::EverySegment => "every segment",
            Self::FirstThreeThenOneInFive => {
                "the first three segments lined, then one in five; the others where evidence speaks \
                 against them"
            }
            Self::OnePerBatch => {
                "the first segment lined from each batch; the others where evidence speaks against \
                 them"
            }
        }
    }
}

impl DueEvent {
    /// Word of a plan's text.
    pub fn word(self) -> &'static str {
        word_of(EVENTS, self)
    }
}

fn word_of<T: PartialEq>(words: &[(&'static str, T)], of: T) -> &'static str {
    words
        .iter()
        .find(|(_, known)| *known == of)
        .map_or("", |(word, _)| word)
}

/// Reads `sampling`; every segment when left out.
pub(super) fn sampling(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Sampling {
    one_of(table, "sampling", SAMPLINGS, faults).unwrap_or(Sampling::EverySegment)
}

/// Reads `due_limit` and `due_after`, which come together or not at all.
pub(super) fn due(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Option<Due> {
    let limit = table.text_or("due_limit", "", faults);
    let after = one_of(table, "due_after", EVENTS, faults);
    if !limit.is_empty() && LimitKind::of(&limit).is_none_or(|kind| kind.unit != "days") {
        let kinds = super::LIMIT_KINDS.iter().filter(|kind| kind.unit == "days");
        let known: Vec<_> = kinds.map(|kind| kind.parameter).collect();
        let near = did_you_mean(&limit, known.iter().copied());
        let message = format!(
            "due_limit is \"{limit}\", which is no limit in days: one of {}{near}",
            listed(known)
        );
        faults.add(table.place_of("due_limit"), message);
    }
    match (limit.is_empty(), after) {
        (false, Some(after)) => Some(Due { limit, after }),
        (true, None) => None,
        (false, None) => {
            let events = listed(EVENTS.iter().map(|(word, _)| *word));
            let message = format!("due_limit stands without due_after: add one of {events}");
            faults.add(table.place_of("due_limit"), message);
            None
        }
        (true, Some(_)) => {
            let message = "due_after stands without due_limit: name the limit that sets the days";
            faults.add(table.place_of("due_after"), message);
            None
        }
    }
}

/// Reads `evidence`: rows of the list of evidence.
pub(super) fn evidence(table: &mut Reader<'_>, faults: &mut Faults<'_>) -> Vec<String> {
    let words = table.words("evidence", faults);
    for (word, place) in &words {
        if faults.is_full() {
            break;
        }
        if evidence_list::title(word).is_none() {
            let near = did_you_mean(word, evidence_list::ROWS.iter().map(|(row, _)| *row));
            let message = format!("the list of evidence has no row \"{word}\"{near}");
            faults.add(*place, message);
        }
    }
    words.into_iter().map(|(word, _)| word).collect()
}

fn one_of<T: Copy>(
    table: &mut Reader<'_>,
    key: &'static str,
    words: &[(&'static str, T)],
    faults: &mut Faults<'_>,
) -> Option<T> {
    table.value(key)?;
    let given = table.text_or(key, "", faults);
    let known = words.iter().find(|(word, _)| *word == given);
    if known.is_none() && !given.is_empty() {
        let near = did_you_mean(&given, words.iter().map(|(word, _)| *word));
        let choices = listed(words.iter().map(|(word, _)| *word));
        let message = format!("{key} is \"{given}\": one of {choices}{near}");
        faults.add(table.place_of(key), message);
    }
    known.map(|(_, value)| *value)
}
