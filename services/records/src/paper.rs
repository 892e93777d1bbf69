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
use prost::{
    Message, Name,
    bytes::Buf,
    encoding::{DecodeContext, WireType, decode_key, decode_varint, skip_field},
};

use crate::{KindEntry, KindTable};

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
    is_direct: bool,
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
    let kind = PaperCheck::full_name();
    let checks = records.iter().filter(|stored| stored.type_name == kind);
    for comparison in checks.filter_map(comparison) {
        let paper = comparison.check.paper.clone();
        comparisons.entry(paper).or_default().push(comparison);
    }
    for about in comparisons.values_mut() {
        about.sort_by_key(|comparison| comparison.record.revision);
    }
    let files: Vec<_> = records.iter().filter(|r| is_file(&r.name)).collect();
    let papers = records.iter().filter(|stored| is_paper(stored));
    let standing = |stored: &Stored| {
        let about = comparisons.get(&stored.name);
        let standing = paper(stored, &files).standing(about.map_or(&[], Vec::as_slice));
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

/// A paper with the files that it names, and those that are about it.
fn paper<'a>(stored: &'a Stored, files: &[&Stored]) -> Paper<'a> {
    let named = stored.refers.iter().filter(|name| is_file(name));
    let about = files
        .iter()
        .filter(|file| file.refers.contains(&stored.name))
        .map(|file| &file.name);
    Paper {
        stored,
        is_direct: is_direct(stored),
        originals: named.chain(about).cloned().collect(),
    }
}

/// Whether a paper was filed under its issuer's role. One that cannot be read was not.
fn is_direct(stored: &Stored) -> bool {
    let kind = pool().get_message_by_name(&stored.type_name);
    let Some(grade) = kind.and_then(|kind| kind.get_field_by_name(GRADE)) else {
        return false;
    };
    let (mut body, mut direct) = (stored.body.clone(), false);
    while body.has_remaining() {
        let Ok((number, wire)) = decode_key(&mut body) else {
            return false;
        };
        if number == grade.number() && wire == WireType::Varint {
            let value = decode_varint(&mut body);
            direct = value.is_ok_and(|value| value == PaperGrade::Direct as u64);
        } else if skip_field(wire, number, &mut body, DecodeContext::default()).is_err() {
            return false;
        }
    }
    direct
}

fn is_file(name: &str) -> bool {
    name.contains("/attachments/")
}

impl Paper<'_> {
    /// Whether a comparison is of this very state and all of its originals.
    fn is_of(&self, comparison: &Comparison) -> bool {
        let seen: BTreeSet<_> = comparison.check.originals.iter().cloned().collect();
        comparison.check.paper_revision == self.stored.revision && seen == self.originals
    }

    fn standing(self, comparisons: &[Comparison]) -> Standing {
        let direct = self.is_direct;
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
            !self.is_direct || self.stored.revision < difference.record.revision
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
