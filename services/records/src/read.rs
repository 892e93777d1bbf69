//! Get, list and list revisions: pages that stay at one revision.

use obvert_access::Caller;
use obvert_ledger::{Ledger, LedgerError, Page, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::{GetRecordRequest, ListRecordsRequest, ListRevisionsRequest, Reason},
};

use crate::{Records, Register, meta, names, own::Reach, refusal};

const DEFAULT_PAGE: usize = 50;
const LARGEST_PAGE: usize = 1_000;

/// A page of records.
pub struct RecordPage<R> {
    /// Records of the page.
    pub records: Vec<R>,
    /// Token of the next page; empty at the end.
    pub next_page_token: String,
    /// Revision at which the page was read; 0 for a page of one record's states.
    pub revision: i64,
}

/// What a list is asked for.
struct Asked {
    project: String,
    collection: String,
    /// Record that the listed ones refer to; empty for all.
    refers_to: String,
    limit: usize,
    at: i64,
}

impl Asked {
    /// A page, whoever wrote what is on it.
    async fn page(
        &self,
        ledger: &Ledger,
        after: Option<String>,
    ) -> Result<Page<Stored>, LedgerError> {
        let collection = self.collection.clone();
        let (limit, at) = (self.limit, self.at);
        if self.refers_to.is_empty() {
            let project = self.project.clone();
            return ledger.list(project, collection, after, limit, at).await;
        }
        let target = self.refers_to.clone();
        let of = Some(collection);
        ledger.referrers(target, of, after, limit, at).await
    }
}

/// Refuses a revision beyond a project's newest, which would be answered as if it were that.
///
/// # Errors
///
/// `FIELDS_INVALID` for such a revision.
pub fn is_of_project(revision: i64, project: &str, newest: i64) -> Result<(), Problem> {
    // A project without a commit has no newest revision to name: what is asked of it is not found.
    if revision <= newest || newest == 0 {
        return Ok(());
    }
    let message = format!(
        "is {revision}, the newest of project {project} is {newest}: give 0 for the newest"
    );
    Err(Problem::fields(vec![Violation::new("revision", message)]))
}

impl<S: Register> Records<S> {
    /// One record at a revision.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, `FIELDS_INVALID` for a malformed name or a revision that is not yet,
    /// `RECORD_NOT_FOUND`.
    pub async fn get(
        &self,
        caller: &Caller,
        request: GetRecordRequest,
    ) -> Result<S::Record, Problem> {
        let reach = self.readable(caller, &request.name)?;
        let (name, revision) = (request.name.clone(), request.revision);
        if revision > 0 {
            let project = names::project_of(&name).to_owned();
            let head = self.ledger.head(project.clone()).await.map_err(refusal)?;
            is_of_project(revision, &project, head.revision)?;
        }
        let found = self.ledger.get(name, revision).await.map_err(refusal)?;
        match found {
            Some(stored) if reach.holds(&self.ledger, &stored).await? => {
                self.shown(&reach, &stored).await
            }
            _ => Err(reach
                .beyond(&request.name)
                .unwrap_or_else(|| absent_at(&request.name, revision))),
        }
    }

    /// A page of a collection, or of its records that refer to one record.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, or `FIELDS_INVALID` for an unknown collection or a token of another list.
    pub async fn list(
        &self,
        caller: &Caller,
        request: ListRecordsRequest,
    ) -> Result<RecordPage<S::Record>, Problem> {
        let ListRecordsRequest {
            project,
            collection,
            refers_to,
            revision,
            page_size,
            page_token,
        } = request;
        let reach = Reach::of(caller, &project)?;
        if self.kinds.by_collection(&collection).is_none() {
            let message = format!("is \"{collection}\": one of {}", self.kinds.listed());
            return Err(Problem::fields(vec![Violation::new("collection", message)]));
        }
        let (mut at, after) = list_token(&page_token)?;
        if at == 0 {
            let head = self.ledger.head(project.clone()).await.map_err(refusal)?;
            if head.revision == 0 && project != obvert_access::OFFICE {
                let name = names::join("", "projects", &project);
                return Err(refusal(LedgerError::NotFound { name }));
            }
            is_of_project(revision, &project, head.revision)?;
            at = if revision > 0 {
                revision
            } else {
                head.revision
            };
        }
        let limit = page_limit(page_size)?;
        let home = names::parse(&refers_to).is_some_and(|parts| parts.project == project);
        if !refers_to.is_empty() && !home {
            let message = format!("is \"{refers_to}\": name a record of {project}");
            return Err(Problem::fields(vec![Violation::new("refers_to", message)]));
        }
        let asked = Asked {
            project,
            collection,
            refers_to,
            limit,
            at,
        };
        let (found, next) = self.within(&reach, &asked, after).await?;
        let mut records = Vec::with_capacity(found.len());
        for stored in &found {
            records.push(self.shown(&reach, stored).await?);
        }
        let next_page_token = next.map_or_else(String::new, |name| format!("{at}:{name}"));
        Ok(RecordPage {
            records,
            next_page_token,
            revision: at,
        })
    }

    /// A page of what is within reach, and the name after which the next one begins. For who reads
    /// only its own, pages are filled over all that lies between, so that neither a short page nor a
    /// token tells of another's record.
    async fn within(
        &self,
        reach: &Reach,
        asked: &Asked,
        mut after: Option<String>,
    ) -> Result<(Vec<Stored>, Option<String>), Problem> {
        let mut found: Vec<Stored> = Vec::new();
        loop {
            let page = asked.page(&self.ledger, after).await.map_err(refusal)?;
            if !reach.is_bounded() {
                return Ok((page.items, page.next));
            }
            for stored in page.items {
                if !reach.holds(&self.ledger, &stored).await? {
                    continue;
                }
                if found.len() == asked.limit {
                    let next = found.last().map(|last| last.name.clone());
                    return Ok((found, next));
                }
                found.push(stored);
            }
            after = page.next;
            if after.is_none() {
                return Ok((found, None));
            }
        }
    }

    /// A page of the states of one record, oldest first.
    ///
    /// # Errors
    ///
    /// As [`Self::get`].
    pub async fn list_revisions(
        &self,
        caller: &Caller,
        request: ListRevisionsRequest,
    ) -> Result<RecordPage<S::Record>, Problem> {
        let reach = self.readable(caller, &request.name)?;
        let after = match request.page_token.as_str() {
            "" => 0,
            token => token.parse().map_err(|_| wrong_token())?,
        };
        let limit = page_limit(request.page_size)?;
        let page = self
            .ledger
            .history(request.name.clone(), after, limit)
            .await
            .map_err(refusal)?;
        let within = match page.items.first() {
            Some(first) => reach.holds(&self.ledger, first).await?,
            None => after > 0,
        };
        if !within {
            let beyond = reach.beyond(&request.name);
            return Err(beyond.unwrap_or_else(|| absent(&request.name)));
        }
        let mut records = Vec::with_capacity(page.items.len());
        for stored in &page.items {
            records.push(self.shown(&reach, stored).await?);
        }
        Ok(RecordPage {
            records,
            next_page_token: page.next.unwrap_or_default(),
            revision: 0,
        })
    }

    /// One record at a revision, for callers already allowed.
    pub(crate) async fn read_at(&self, name: &str, revision: i64) -> Result<S::Record, Problem> {
        let found = self
            .ledger
            .get(name.to_owned(), revision)
            .await
            .map_err(refusal)?;
        self.answer(&found.ok_or_else(|| absent(name))?)
    }

    /// `Record` message of a stored record.
    ///
    /// # Errors
    ///
    /// `RECORD_NOT_FOUND` for a kind of another service.
    pub fn answer(&self, stored: &Stored) -> Result<S::Record, Problem> {
        let entry = self.kinds.by_type(&stored.type_name).ok_or_else(|| {
            let message = format!("{} is kept by another service: ask there", stored.name);
            Problem::new(Reason::RecordNotFound, message).fact("name", &stored.name)
        })?;
        self.kinds.join(entry, Some(&meta(stored)), &stored.body)
    }

    /// Reach of a caller in the project of a name that this service may keep.
    fn readable(&self, caller: &Caller, name: &str) -> Result<Reach, Problem> {
        let reach = Reach::of(caller, names::project_of(name))?;
        let parts = names::parse(name).ok_or_else(|| {
            Problem::fields(names::check_name("name", name).into_iter().collect())
        })?;
        if self.kinds.by_collection(parts.collection).is_none() {
            // Said of the collection alone, so that it does not tell what exists.
            let message = format!(
                "{name} is kept by another service or by none: this one keeps {}",
                self.kinds.listed()
            );
            return Err(Problem::new(Reason::RecordNotFound, message).fact("name", name));
        }
        Ok(reach)
    }
}

fn absent(name: &str) -> Problem {
    refusal(LedgerError::NotFound {
        name: name.to_owned(),
    })
}

/// The same, with the revision that was asked for; 0 for the newest.
fn absent_at(name: &str, revision: i64) -> Problem {
    if revision == 0 {
        return absent(name);
    }
    let message = format!(
        "{name} does not exist at revision {revision}: check the name, or give a later revision"
    );
    Problem::new(Reason::RecordNotFound, message)
        .fact("name", name)
        .fact("revision", revision)
}

/// Revision and last name of a list token; zero and nothing for the first page.
fn list_token(token: &str) -> Result<(i64, Option<String>), Problem> {
    if token.is_empty() {
        return Ok((0, None));
    }
    let (at, after) = token.split_once(':').ok_or_else(wrong_token)?;
    let at = at
        .parse::<i64>()
        .ok()
        .filter(|at| *at > 0)
        .ok_or_else(wrong_token)?;
    Ok((at, Some(after.to_owned())))
}

fn wrong_token() -> Problem {
    let message = "was not given by this list: start again without a token";
    Problem::fields(vec![Violation::new("page_token", message)])
}

fn page_limit(page_size: i32) -> Result<usize, Problem> {
    match usize::try_from(page_size) {
        Ok(0) => Ok(DEFAULT_PAGE),
        Ok(size) => Ok(size.min(LARGEST_PAGE)),
        Err(_) => {
            let message = format!("is {page_size}: give 0 to {LARGEST_PAGE}");
            Err(Problem::fields(vec![Violation::new("page_size", message)]))
        }
    }
}
