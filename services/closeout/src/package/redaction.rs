//! What a package leaves out so that it names nobody who need not be named.
//!
//! Names and phones of residents are in no record: they lie in encrypted sheets outside the journal.
//! Left out besides are fields that the schema marks as saying who took part, and originals about
//! parcels, notices and rights to enter. Other originals are enclosed as they were filed, since they
//! are the first evidence; those whose records leave a person out are listed. Accounts stay: who
//! recorded and who released is what the package proves.

use obvert_ledger::Stored;
use obvert_proto::{pool, rules};
use obvert_records::names;
use prost::Message;
use prost_reflect::DynamicMessage;
use serde_json::{Value, json};

use super::{
    Sources, Terms,
    originals::{Kept, Original, may_name, originals},
    words::counted,
};
use crate::{load::Loaded, segment_file::SegmentFile};

/// What stands in place of a name.
const LEFT_OUT: &str = "[left out]";
/// Collections of records about residents.
const RESIDENTS: &[&str] = &["accessPermits", "notices", "parcelRelations", "parcels"];

/// One field of one state of a record that was left out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Redaction {
    /// Full name of the record.
    pub name: String,
    /// Revision of the state.
    pub revision: i64,
    /// Path of the field, as the record's file spells it.
    pub field: String,
}

/// Takes who took part out of every state that a package carries.
pub(super) fn redact(sources: &mut Sources) -> Vec<Redaction> {
    let mut found = Vec::new();
    redact_file(&mut sources.loaded, &mut found);
    for stored in sources.histories.iter_mut().flatten() {
        redact_state(stored, &mut found);
    }
    if let Some(issue) = &mut sources.replaced {
        // What is compared is not enclosed.
        redact_file(&mut issue.loaded, &mut Vec::new());
    }
    found.sort();
    found.dedup();
    found
}

/// Whether a record is about residents, or a paper or file about such a record.
pub(super) fn about_residents(stored: &Stored) -> bool {
    let is_paper = names::parse(&stored.name).is_some_and(|p| p.collection == "documents");
    names_residents(&stored.name)
        || is_paper && stored.refers.iter().any(|name| names_residents(name))
}

/// Whether a name is that of a record about residents.
pub(super) fn names_residents(name: &str) -> bool {
    names::parse(name).is_some_and(|parts| RESIDENTS.contains(&parts.collection))
}

/// What was left out, as a label of the bag says it.
pub(super) fn in_words(terms: Terms, redactions: &[Redaction]) -> String {
    if terms.with_people {
        return "named as recorded".to_owned();
    }
    let fields = counted(redactions.len(), "field", "fields");
    format!("left out in {fields}, listed in data/redactions.json")
}

/// What was left out, as a file.
pub(super) fn file(sources: &Sources) -> Value {
    let field = |r: &Redaction| json!({"name": r.name, "revision": r.revision, "field": r.field});
    let all = originals(&sources.loaded, sources.terms);
    let kept = all.iter().filter(|o| o.kept == Some(Kept::Residents));
    let originals = kept.map(|original| json!({"record": original.record}));
    let may_name = may_name(&all, sources);
    let untouched = |(original, telling): &(&Original, Vec<&str>)| {
        let (record, file) = (&original.record, &original.path);
        json!({"record": record, "file": file, "leftOutIn": telling})
    };
    json!({
        "withPeople": sources.terms.with_people,
        "inPlaceOfNames": LEFT_OUT,
        "note": "Names and phones of residents are in no record and in no package. Accounts of those \
                 who recorded and released are kept. Enclosed originals are as they were filed: \
                 those under enclosedUntouched may name whom their records leave out.",
        "fields": sources.redactions.iter().map(field).collect::<Vec<_>>(),
        "originals": originals.collect::<Vec<_>>(),
        "enclosedUntouched": may_name.iter().map(untouched).collect::<Vec<_>>(),
    })
}

fn redact_file(loaded: &mut Loaded, found: &mut Vec<Redaction>) {
    let gathered = &mut loaded.gathered;
    let states = gathered.records.iter_mut().chain(&mut gathered.former);
    for stored in states.chain([&mut gathered.project]) {
        redact_state(stored, found);
    }
    loaded.file = SegmentFile::from_records(gathered);
}

fn redact_state(stored: &mut Stored, found: &mut Vec<Redaction>) {
    if !rules::people_fields(&stored.type_name) {
        return;
    }
    let Some(descriptor) = pool().get_message_by_name(&stored.type_name) else {
        return;
    };
    let Ok(mut message) = DynamicMessage::decode(descriptor, stored.body.clone()) else {
        return;
    };
    let paths = rules::people_replaced(&mut message, LEFT_OUT);
    found.extend(paths.into_iter().map(|field| Redaction {
        name: stored.name.clone(),
        revision: stored.revision,
        field,
    }));
    stored.body = message.encode_to_vec().into();
}
