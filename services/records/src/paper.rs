//! How good a paper is: a report, certificate or note that somebody typed from an original.
//!
//! Nobody types a grade. A paper filed under the role that issues such papers is direct; filed under
//! any other it is a transcription until another role, or its issuer, has compared it with its
//! original. A comparison holds for the state and the originals that it names: a digit changed, or
//! another original, and it holds no more. A comparison that found a difference stays open until
//! whoever found it agrees.

use std::collections::{BTreeMap, BTreeSet};

use bytes::Bytes;
use obvert_access::role_word;
use obvert_ledger::Stored;
use obvert_proto::{
    Problem,
    common::v1::{PaperGrade, RecordRef},
    pool,
    project::v1::{PaperAnswer, PaperCheck, Role},
    rules,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;

use crate::{KindEntry, KindTable, names};

mod values;

pub use values::{Value, values};

/// Field of a paper that says how it was filed.
const GRADE: &str = "grade";

/// How good the latest state of one paper is.
#[derive(Debug, Clone)]
pub struct Standing {
    /// Its grade.
    pub grade: PaperGrade,
    /// Names of its originals.
    pub originals: BTreeSet<String>,
    /// The comparison that the grade rests on; none for a direct paper or a lone transcription.
    pub by: Option<Comparison>,
    /// The last comparison that agreed with another state, where none agrees with this one.
    pub outdated: Option<Comparison>,
    /// Comparisons that found a difference which nothing has settled.
    pub differences: Vec<Comparison>,
}

/// One comparison on file.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// Its record.
    pub record: RecordRef,
    /// Who compared.
    pub principal: String,
    /// Under which role; `issuer` for who issued the paper.
    pub role: String,
    /// When it was filed, in milliseconds since 1970-01-01T00:00:00Z.
    pub commit_time_ms: i64,
    /// What was found.
    pub check: PaperCheck,
}

/// A paper and what is about it.
struct Paper<'a> {
    stored: &'a Stored,
    filed: PaperGrade,
    originals: BTreeSet<String>,
}

/// Whether a record is a paper.
pub fn is_paper(stored: &Stored) -> bool {
    let kind = rules::kinds().get(&stored.type_name);
    kind.is_some_and(|kind| kind.is_paper)
}

/// Standing of every paper among some records, by name.
pub fn standings(records: &[Stored]) -> BTreeMap<String, Standing> {
    let mut comparisons: BTreeMap<String, Vec<Comparison>> = BTreeMap::new();
    for comparison in records.iter().filter_map(comparison) {
        let paper = comparison.check.paper.clone();
        comparisons.entry(paper).or_default().push(comparison);
    }
    for about in comparisons.values_mut() {
        about.sort_by_key(|comparison| comparison.record.revision);
    }
    let papers = records.iter().filter(|stored| is_paper(stored));
    let standing = |stored: &Stored| {
        let about = comparisons.get(&stored.name);
        let standing = paper(stored, records).standing(about.map_or(&[], Vec::as_slice));
        (stored.name.clone(), standing)
    };
    papers.map(standing).collect()
}

/// A record as it is filed under a role: a paper gets its grade.
///
/// # Errors
///
/// As [`KindTable::join`].
pub(crate) fn filed<R: Message + Default + Clone>(
    kinds: &KindTable,
    entry: &KindEntry,
    role: Role,
    record: &R,
    body: &Bytes,
) -> Result<R, Problem> {
    let Some(field) = entry.descriptor.get_field_by_name(GRADE) else {
        return Ok(record.clone());
    };
    let grade = if entry.kind.issued_by.contains(&role_word(role)) {
        PaperGrade::Direct
    } else {
        PaperGrade::Transcribed
    };
    let mut graded = body.to_vec();
    prost::encoding::int32::encode(field.number(), &i32::from(grade), &mut graded);
    kinds.join(entry, None, &graded)
}

fn comparison(stored: &Stored) -> Option<Comparison> {
    if stored.type_name != PaperCheck::full_name() {
        return None;
    }
    Some(Comparison {
        record: RecordRef {
            name: stored.name.clone(),
            revision: stored.revision,
        },
        principal: stored.caller.principal.clone(),
        role: stored.caller.role.clone(),
        commit_time_ms: stored.commit_time_ms,
        check: PaperCheck::decode(stored.body.clone()).ok()?,
    })
}

/// A paper that cannot be read has neither grade nor originals.
fn paper<'a>(stored: &'a Stored, records: &[Stored]) -> Paper<'a> {
    let kind = pool().get_message_by_name(&stored.type_name);
    let message = kind.and_then(|kind| DynamicMessage::decode(kind, stored.body.clone()).ok());
    let grade = message.as_ref().and_then(|message| {
        let grade = message.get_field_by_name(GRADE)?.as_enum_number()?;
        PaperGrade::try_from(grade).ok()
    });
    let references = message.as_ref().map(rules::references).unwrap_or_default();
    let is_file = |name: &str| names::parse(name).is_some_and(|n| n.collection == "attachments");
    let named = references.into_iter().map(|reference| reference.name);
    let about = records
        .iter()
        .filter(|other| is_file(&other.name) && other.refers.contains(&stored.name));
    Paper {
        stored,
        filed: grade.unwrap_or_default(),
        originals: named
            .filter(|name| is_file(name))
            .chain(about.map(|other| other.name.clone()))
            .collect(),
    }
}

impl Paper<'_> {
    /// Whether a comparison is of this very state and all of its originals.
    fn is_of(&self, comparison: &Comparison) -> bool {
        let seen: BTreeSet<_> = comparison.check.originals.iter().cloned().collect();
        comparison.check.paper_revision == self.stored.revision && seen == self.originals
    }

    fn standing(self, comparisons: &[Comparison]) -> Standing {
        let direct = self.filed == PaperGrade::Direct;
        let agreed = |c: &&Comparison| c.check.answer() == PaperAnswer::Agrees;
        let of_this = comparisons.iter().filter(|c| self.is_of(c)).filter(agreed);
        let by = of_this
            .max_by_key(|c| (is_issuer(c), c.record.revision))
            .filter(|_| !direct);
        let grade = match by {
            _ if direct => PaperGrade::Direct,
            Some(comparison) if is_issuer(comparison) => PaperGrade::ConfirmedByIssuer,
            Some(_) => PaperGrade::CheckedBySecondRole,
            None => PaperGrade::Transcribed,
        };
        let outdated = comparisons.iter().rfind(agreed);
        let open = comparisons.iter().enumerate().filter(|(place, c)| {
            c.check.answer() == PaperAnswer::Differs
                && self.still_stands(c)
                && !settled(c, &comparisons[place + 1..])
        });
        Standing {
            grade,
            by: by.cloned(),
            outdated: outdated.filter(|_| by.is_none() && !direct).cloned(),
            differences: open.map(|(_, c)| c.clone()).collect(),
            originals: self.originals,
        }
    }

    /// Whether a difference concerns what is on file now. What a second role found in an earlier
    /// state was corrected by the next, which needs a comparison of its own; an issuer's word against
    /// a paper stands until the issuer itself answers otherwise or files it.
    fn still_stands(&self, difference: &Comparison) -> bool {
        if is_issuer(difference) {
            self.filed != PaperGrade::Direct || self.stored.revision < difference.record.revision
        } else {
            difference.check.paper_revision == self.stored.revision
        }
    }
}

/// Whether whoever found a difference agreed later, with that state or one after it.
fn settled(difference: &Comparison, later: &[Comparison]) -> bool {
    later.iter().any(|c| {
        c.principal == difference.principal
            && c.check.answer() == PaperAnswer::Agrees
            && c.check.paper_revision >= difference.check.paper_revision
    })
}

fn is_issuer(comparison: &Comparison) -> bool {
    !comparison.check.issuer_link.is_empty()
}
