//! The records that a record names, and those its rules asked for.

use std::{
    collections::{BTreeMap, BTreeSet, HashSet},
    sync::LazyLock,
};

use obvert_access::{Action, Caller, Cell, Grant, matrix};
use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem, Violation, common::v1::RecordRef, pool, project::v1::Project, rules::Reference,
};
use prost::{Message, Name};

use crate::{Related, names, refusal, wrote_first};

/// How far references are followed: order of a liner of a run of a sample is four steps.
const DEPTH: usize = 5;
/// Related records loaded for one record at most.
const RELATED: usize = 2_000;

/// Records by name, at the revision at which they were read.
#[derive(Debug, Default)]
pub struct Named {
    records: BTreeMap<String, Stored>,
    project: Option<Project>,
    before: Option<Stored>,
    writer: Option<Writer>,
}

/// Who writes the judged record.
#[derive(Debug, Clone)]
pub struct Writer {
    caller: Caller,
    grant: Grant,
    /// Whether the principal wrote the record's first state, or writes it now.
    pub is_first: bool,
}

impl Writer {
    /// What the role of this write may do of an action, by the table of roles.
    pub fn cell(&self, action: Action<'_>) -> Cell {
        action.cell(self.grant.role)
    }

    /// Refusal of this write for a reason beyond the table.
    pub fn refused(&self, message: impl Into<String>) -> Problem {
        self.caller.refused(message)
    }

    /// Principal and role, for messages.
    pub fn called(&self) -> String {
        let role = obvert_access::role_word(self.grant.role);
        format!("{}, {role},", self.caller.principal)
    }
}

impl Named {
    /// Loads what the references of the record `own` name, and what those name in turn; besides,
    /// the project's own record and the state that `own` has now.
    ///
    /// # Errors
    ///
    /// `FIELDS_INVALID` with every reference that names nothing, a wrong collection, another
    /// project, or what its list names already.
    pub(crate) async fn load(
        ledger: &Ledger,
        project: &str,
        own: &str,
        references: &[Reference],
    ) -> Result<Self, Problem> {
        let mut violations: Vec<_> = references
            .iter()
            .filter_map(|reference| check_form(project, reference))
            .collect();
        violations.extend(check_repeated(references));
        if !violations.is_empty() {
            return Err(Problem::fields(violations));
        }
        let mut named = Self::default();
        let home = names::join("", "projects", project);
        for stored in ledger
            .get_many(vec![home.clone(), own.to_owned()], 0)
            .await
            .map_err(refusal)?
        {
            if stored.name == home {
                named.project = decode(&stored);
            }
            if stored.name == own {
                named.before = Some(stored);
            }
        }
        let mut wanted: BTreeSet<String> = references.iter().map(|r| r.name.clone()).collect();
        for _ in 0..DEPTH {
            wanted.retain(|name| !named.records.contains_key(name));
            if wanted.is_empty() {
                break;
            }
            let found = ledger
                .get_many(wanted.into_iter().collect(), 0)
                .await
                .map_err(refusal)?;
            wanted = found
                .iter()
                .flat_map(|stored| stored.refers.iter().cloned())
                .collect();
            named.records.extend(
                found
                    .into_iter()
                    .map(|stored| (stored.name.clone(), stored)),
            );
        }
        violations.extend(
            references
                .iter()
                .filter(|r| !named.records.contains_key(&r.name))
                .map(|r| {
                    Violation::new(
                        &r.field,
                        format!("names {}, which does not exist: write it first", r.name),
                    )
                }),
        );
        if violations.is_empty() {
            Ok(named)
        } else {
            Err(Problem::fields(violations))
        }
    }

    /// Adds the records that rules asked for.
    pub(crate) async fn add(
        &mut self,
        ledger: &Ledger,
        wanted: Vec<Related>,
    ) -> Result<(), Problem> {
        for Related { target, collection } in wanted {
            let collection = Some(collection.to_owned());
            let page = ledger
                .referrers(target, collection, None, RELATED, 0)
                .await
                .map_err(refusal)?;
            self.records.extend(
                page.items
                    .into_iter()
                    .map(|stored| (stored.name.clone(), stored)),
            );
        }
        Ok(())
    }

    /// Notes who writes, and whether the record is that principal's.
    ///
    /// # Errors
    ///
    /// The ledger's refusal.
    pub(crate) async fn add_writer(
        &mut self,
        ledger: &Ledger,
        (caller, grant): (&Caller, Grant),
    ) -> Result<(), Problem> {
        let is_first = match &self.before {
            Some(before) => wrote_first(ledger, caller, before).await?,
            None => true,
        };
        self.writer = Some(Writer {
            caller: caller.clone(),
            grant,
            is_first,
        });
        Ok(())
    }

    /// Who writes the judged record.
    pub fn writer(&self) -> Option<&Writer> {
        self.writer.as_ref()
    }

    /// Record of a name, if it is of this type.
    pub fn get<M: Message + Name + Default>(&self, name: &str) -> Option<M> {
        self.records.get(name).and_then(decode)
    }

    /// All records of a type with their references, in order of their names.
    pub fn all<M: Message + Name + Default>(&self) -> Vec<(RecordRef, M)> {
        let read = |stored: &Stored| {
            let record = RecordRef {
                name: stored.name.clone(),
                revision: stored.revision,
            };
            decode(stored).map(|message| (record, message))
        };
        self.records.values().filter_map(read).collect()
    }

    /// Record of the project itself, with its time zone; none in `office`.
    pub fn project(&self) -> Option<&Project> {
        self.project.as_ref()
    }

    /// State that the judged record has before this write; none when it is new.
    pub fn before<M: Message + Name + Default>(&self) -> Option<(RecordRef, M)> {
        self.before.as_ref().and_then(|stored| {
            let record = RecordRef {
                name: stored.name.clone(),
                revision: stored.revision,
            };
            decode(stored).map(|message| (record, message))
        })
    }

    /// The judged record as it is stored before this write; none when it is new.
    pub(crate) fn own_before(&self) -> Option<Stored> {
        self.before.clone()
    }

    /// Revision at which a record was written first; 0 when it was not read.
    pub fn create_revision(&self, name: &str) -> i64 {
        self.records
            .get(name)
            .map_or(0, |stored| stored.create_revision)
    }

    /// Revision at which a record was read; 0 when it was not.
    pub fn revision(&self, name: &str) -> i64 {
        self.records.get(name).map_or(0, |stored| stored.revision)
    }
}

fn decode<M: Message + Name + Default>(stored: &Stored) -> Option<M> {
    (stored.type_name == M::full_name())
        .then(|| M::decode(stored.body.clone()).ok())
        .flatten()
}

fn check_form(project: &str, reference: &Reference) -> Option<Violation> {
    let wrong = |message: String| Some(Violation::new(&reference.field, message));
    let Some(parts) = names::parse(&reference.name) else {
        return names::check_name(&reference.field, &reference.name);
    };
    if parts.project != project && parts.project != obvert_access::OFFICE {
        return wrong(format!(
            "names {}: a record of {project} names only its own project",
            reference.name
        ));
    }
    // Of what no service shows, such as keys, not even existence is told.
    if !is_shown(parts.collection) {
        return wrong(format!(
            "names {}: {} is no collection of records",
            reference.name, parts.collection
        ));
    }
    if reference.collection != "*" && parts.collection != reference.collection {
        return wrong(format!(
            "names {}: a record of {} is wanted",
            reference.name, reference.collection
        ));
    }
    None
}

/// Whether some service keeps records of a collection and shows them.
fn is_shown(collection: &str) -> bool {
    static SHOWN: LazyLock<HashSet<String>> = LazyLock::new(|| {
        let files = pool().services().map(|service| service.parent_file());
        let kept = files.flat_map(|file| matrix::collections(file.package_name()));
        kept.collect()
    });
    SHOWN.contains(collection)
}

/// Elements of a list that name what the list names already.
fn check_repeated(references: &[Reference]) -> Vec<Violation> {
    let mut seen = BTreeSet::new();
    let again = references.iter().filter(|reference| {
        let list = reference
            .field
            .strip_suffix(']')
            .and_then(|field| field.rsplit_once('['));
        list.is_some_and(|(list, _)| !seen.insert((list, reference.name.as_str())))
    });
    again
        .map(|r| Violation::new(&r.field, format!("names {} again: name it once", r.name)))
        .collect()
}
