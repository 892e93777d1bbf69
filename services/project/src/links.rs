//! Links by which an owner opens packages in a browser, without a key, until a time.

use obvert_access::{Caller, Link as Told, LinkError, LinkSigner};
use obvert_ledger::{Assert, Expect, Ledger, LedgerError, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::Write,
    dates::{from_unix_ms, unix_ms},
    project::v1::{CreateLinkRequest, Link, ListedLink, Role},
};
use obvert_records::{Digest, caller_of, draft, message_of, meta, names, refusal};
use prost::{Message, Name};

use crate::bootstrap::DAY_MS;

/// What such a link is for.
const PURPOSE: &str = "packages";
/// Days that a link works where nobody says otherwise; common practice, no source.
const USUAL_DAYS: i64 = 30;
/// Records read at once.
const PAGE: usize = 500;

/// Links of a ledger.
#[derive(Clone)]
pub struct Links {
    ledger: Ledger,
    signer: LinkSigner,
}

/// A link that works.
#[derive(Debug, Clone)]
pub struct OpenLink {
    /// As whom its reader is known, such as `link/district-office`.
    pub principal: String,
    /// Full name of its record.
    pub name: String,
    /// Project of its packages.
    pub project: String,
    /// What it opens.
    pub link: Link,
}

impl OpenLink {
    /// Whether it opens a package.
    pub fn opens(&self, package: &str) -> bool {
        let home = names::project_of(package) == self.project;
        let all = names::parse(&self.link.target).is_some_and(|p| p.collection == "projects");
        home && (all || self.link.target == package)
    }
}

impl Links {
    /// Links over a ledger, with their signer.
    pub fn new(ledger: Ledger, signer: LinkSigner) -> Self {
        Self { ledger, signer }
    }

    /// Makes a link; returns its record and its path, which is empty when the request only asked
    /// whether it could be made.
    pub(crate) async fn create(
        &self,
        (caller, role): (&Caller, Role),
        write: &Write,
        request: &CreateLinkRequest,
        now_ms: i64,
    ) -> Result<(Option<Stored>, Link, String), Problem> {
        let parts = names::parse(&request.target);
        let parts = parts.filter(|p| ["projects", "packages"].contains(&p.collection));
        let mut wrong: Vec<_> = names::check_id("link_id", &request.link_id)
            .into_iter()
            .collect();
        let Some(parts) = parts.filter(|_| wrong.is_empty()) else {
            if parts.is_none() {
                let message = format!("is \"{}\": name a project or a package", request.target);
                wrong.push(Violation::new("target", message));
            }
            return Err(Problem::fields(wrong));
        };
        let days = request.valid_days.map_or(USUAL_DAYS, i64::from);
        let link = Link {
            target: request.target.clone(),
            note: request.note.clone(),
            expire_time: Some(from_unix_ms(now_ms + days * DAY_MS)),
            revoke_time: None,
        };
        let name = names::join(parts.project, "links", &request.link_id);
        let present = Assert {
            name: request.target.clone(),
            expect: Expect::Present,
        };
        let absent = Assert {
            name: name.clone(),
            expect: Expect::Absent,
        };
        if write.validate_only {
            let found = self.ledger.get(request.target.clone(), 0).await;
            let target = request.target.clone();
            found
                .map_err(refusal)?
                .ok_or_else(|| refusal(LedgerError::NotFound { name: target }))?;
            return Ok((None, link, String::new()));
        }
        let digest = Digest::default().part(&request.encode_to_vec()).finish();
        let content = (vec![present, absent], vec![entry(&name, &link)]);
        let filer = caller_of(caller, role);
        let draft = draft(parts.project, filer, write, digest, now_ms, content);
        let revision = self.ledger.commit(draft).await.map_err(refusal)?.revision;
        let stored = self
            .ledger
            .get(name.clone(), revision)
            .await
            .map_err(refusal)?;
        let stored = stored.ok_or_else(|| not_found(&name))?;
        let link: Link = message_of(&stored)?;
        let path = format!("/links/{}", self.text(&name, &link));
        Ok((Some(stored), link, path))
    }

    /// Links of a project, in order of their names.
    pub(crate) async fn list(&self, project: &str) -> Result<Vec<ListedLink>, Problem> {
        let (mut links, mut after) = (Vec::new(), None);
        loop {
            let list = self
                .ledger
                .list(project.into(), "links".into(), after, PAGE, 0);
            let page = list.await.map_err(refusal)?;
            for stored in &page.items {
                links.push(ListedLink {
                    meta: Some(meta(stored)),
                    link: Some(message_of(stored)?),
                });
            }
            after = page.next;
            if after.is_none() {
                return Ok(links);
            }
        }
    }

    /// Ends a link; one that has ended stays ended since then.
    pub(crate) async fn revoke(
        &self,
        (caller, role): (&Caller, Role),
        write: &Write,
        name: &str,
        now_ms: i64,
    ) -> Result<Link, Problem> {
        if write.reason.trim().is_empty() {
            let message = "is missing: say why the link is ended";
            return Err(Problem::fields(vec![Violation::new(
                "write.reason",
                message,
            )]));
        }
        let (stored, mut link) = self.link(name).await?.ok_or_else(|| not_found(name))?;
        if link.revoke_time.is_some() || write.validate_only {
            return Ok(link);
        }
        link.revoke_time = Some(from_unix_ms(now_ms));
        let unchanged = Assert {
            name: name.to_owned(),
            expect: Expect::Revision(stored.revision),
        };
        let digest = Digest::default()
            .part(name.as_bytes())
            .part(write.reason.as_bytes())
            .finish();
        let content = (vec![unchanged], vec![entry(name, &link)]);
        let filer = caller_of(caller, role);
        let project = names::project_of(name);
        let draft = draft(project, filer, write, digest, now_ms, content);
        self.ledger.commit(draft).await.map_err(refusal)?;
        Ok(link)
    }

    /// Link of a text, while it works; none when it was altered, has expired or was revoked: whoever
    /// holds a link that opens nothing is not told which.
    ///
    /// # Errors
    ///
    /// The ledger's refusal.
    pub async fn open(&self, text: &str, now_ms: i64) -> Result<Option<OpenLink>, Problem> {
        let told: Result<Told, LinkError> = self.signer.read(PURPOSE, text, now_ms);
        let Ok(told) = told else {
            return Ok(None);
        };
        let name = names::join(&told.project, "links", &told.id);
        let found = self.link(&name).await?;
        let works = |link: &Link| link.revoke_time.is_none() && expires_at(link) > now_ms;
        let found = found.filter(|(_, link)| works(link));
        Ok(found.map(|(_, link)| OpenLink {
            principal: format!("link/{}", told.id),
            name,
            project: told.project,
            link,
        }))
    }

    fn text(&self, name: &str, link: &Link) -> String {
        self.signer.text(&Told {
            purpose: PURPOSE.to_owned(),
            project: names::project_of(name).to_owned(),
            id: names::id_of(name).to_owned(),
            expire_time_ms: expires_at(link),
        })
    }

    async fn link(&self, name: &str) -> Result<Option<(Stored, Link)>, Problem> {
        let stored = self.ledger.get(name.to_owned(), 0).await.map_err(refusal)?;
        let stored = stored.filter(|stored| stored.type_name == Link::full_name());
        let link = stored.map(|stored| message_of(&stored).map(|link: Link| (stored, link)));
        link.transpose()
    }
}

fn entry(name: &str, link: &Link) -> NewEntry {
    NewEntry {
        name: name.to_owned(),
        type_name: Link::full_name(),
        body: link.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    }
}

fn expires_at(link: &Link) -> i64 {
    link.expire_time.as_ref().map_or(0, unix_ms)
}

fn not_found(name: &str) -> Problem {
    refusal(LedgerError::NotFound {
        name: name.to_owned(),
    })
}
