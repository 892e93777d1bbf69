//! Papers and who has compared them with their originals.
//!
//! [`Papers::check`] takes the word of a second role, [`Papers::make_link`] asks the issuer, and
//! [`Papers::answer`] takes its answer. What they make of a paper's grade is
//! [`obvert_records::paper`]'s to say.

mod on_file;
mod shut;

use obvert_access::{Caller, Link, LinkSigner, role_word};
use obvert_ledger::{Assert, Caller as Filer, Expect, Ledger, LedgerError, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::{PaperGrade, Write},
    dates::from_unix_ms,
    pool,
    project::v1::{
        CheckPaperRequest, IssuerLink, MakeIssuerLinkRequest, PaperAnswer, PaperCheck, Role,
    },
    rules,
};
use obvert_records::{Digest, draft, message_of, names, refusal};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;

pub use on_file::{OnFile, Original};
pub use shut::{Opened, Shut};

use crate::bootstrap::DAY_MS;

/// What a link to an issuer is for.
const PURPOSE: &str = "issuer";
/// Days that a link works where nobody says otherwise; common practice, no source.
const LINK_DAYS: i64 = 14;

/// Papers of a ledger.
#[derive(Clone)]
pub struct Papers {
    ledger: Ledger,
    signer: LinkSigner,
}

/// A record to write, and under what conditions.
struct Filing<M> {
    name: String,
    message: M,
    claims: Vec<String>,
    asserts: Vec<Assert>,
}

impl Papers {
    /// Papers over a ledger, with the signer of links to issuers.
    pub fn new(ledger: Ledger, signer: LinkSigner) -> Self {
        Self { ledger, signer }
    }

    /// The ledger beneath.
    pub fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// Files that a caller has compared a paper with its originals; none when only asked whether it
    /// could.
    ///
    /// # Errors
    ///
    /// `ETAG_STALE` when the paper has moved on, `ACT_REFUSED` when the caller is no second role or
    /// there is no original.
    pub(crate) async fn check(
        &self,
        (caller, role): (&Caller, Role),
        write: &Write,
        request: &CheckPaperRequest,
        now_ms: i64,
    ) -> Result<Option<Stored>, Problem> {
        if request.answer() == PaperAnswer::Differs && request.remark.trim().is_empty() {
            let message = "is missing: say which value differs, and how";
            return Err(Problem::fields(vec![Violation::new("remark", message)]));
        }
        let name = own_name(&request.paper, "paperChecks", &caller.principal, write);
        if let Some(stored) = self.stored(&name).await? {
            let same = PaperCheck::decode(stored.body.clone()).is_ok_and(|kept| {
                kept.paper == request.paper
                    && kept.paper_revision == request.paper_revision
                    && kept.answer == request.answer
                    && kept.remark == request.remark
            });
            return if same {
                Ok(Some(stored))
            } else {
                Err(reused(write, &stored))
            };
        }
        let paper = self.on_file(&request.paper).await?;
        paper.is_at(request.paper_revision)?;
        self.second_role(caller, &paper).await?;
        let message = paper.checked(request.answer(), &request.remark, "")?;
        let asserts = vec![paper.unchanged(), absent(&name)];
        let filing = Filing {
            name,
            message,
            claims: Vec::new(),
            asserts,
        };
        let filer = obvert_records::caller_of(caller, role);
        self.file(filer, write, filing, now_ms).await
    }

    /// Makes a link to a paper's issuer: its record and its text, or none when only asked whether it
    /// could.
    ///
    /// # Errors
    ///
    /// `ACT_REFUSED` for a paper without an original, or one that its issuer filed itself.
    pub(crate) async fn make_link(
        &self,
        (caller, role): (&Caller, Role),
        write: &Write,
        request: &MakeIssuerLinkRequest,
        now_ms: i64,
    ) -> Result<Option<(Stored, String)>, Problem> {
        let name = own_name(&request.paper, "issuerLinks", &caller.principal, write);
        if let Some(stored) = self.stored(&name).await? {
            let kept: IssuerLink = message_of(&stored)?;
            if kept.paper != request.paper || kept.issuer != request.issuer {
                return Err(reused(write, &stored));
            }
            let text = self.text(&stored.name, &kept);
            return Ok(Some((stored, text)));
        }
        let paper = self.on_file(&request.paper).await?;
        paper.has_original()?;
        if paper.standing.grade == PaperGrade::Direct {
            return Err(paper.refused("was filed by who issued it: there is nothing to confirm"));
        }
        let days = request.valid_days.map_or(LINK_DAYS, i64::from);
        let message = IssuerLink {
            paper: request.paper.clone(),
            paper_revision: paper.stored.revision,
            issuer: request.issuer.trim().to_owned(),
            expire_time: Some(from_unix_ms(now_ms + days * DAY_MS)),
            revoke_time: None,
        };
        let text = self.text(&name, &message);
        let filing = Filing {
            asserts: vec![paper.unchanged(), absent(&name)],
            name,
            message,
            claims: Vec::new(),
        };
        let filer = obvert_records::caller_of(caller, role);
        let stored = self.file(filer, write, filing, now_ms).await?;
        Ok(stored.map(|stored| (stored, text)))
    }

    /// Ends a link; one that has ended stays ended since then.
    ///
    /// # Errors
    ///
    /// `RECORD_NOT_FOUND`, or the ledger's refusal.
    pub(crate) async fn revoke_link(
        &self,
        (caller, role): (&Caller, Role),
        write: &Write,
        link: &str,
        now_ms: i64,
    ) -> Result<Stored, Problem> {
        let stored = self.stored(link).await?;
        let stored = stored.filter(|s| s.type_name == IssuerLink::full_name());
        let stored = stored.ok_or_else(|| not_found(link))?;
        let mut message: IssuerLink = message_of(&stored)?;
        if message.revoke_time.is_some() {
            return Ok(stored);
        }
        message.revoke_time = Some(from_unix_ms(now_ms));
        let filing = Filing {
            name: link.to_owned(),
            message,
            claims: Vec::new(),
            asserts: vec![Assert {
                name: link.to_owned(),
                expect: Expect::Revision(stored.revision),
            }],
        };
        let filer = obvert_records::caller_of(caller, role);
        let revoked = self.file(filer, write, filing, now_ms).await?;
        Ok(revoked.unwrap_or(stored))
    }

    /// Refuses whoever typed any state of a paper, and everybody of the role it was typed under.
    async fn second_role(&self, caller: &Caller, paper: &OnFile) -> Result<(), Problem> {
        let name = paper.stored.name.clone();
        let states = self.ledger.history(name, 0, 1_000).await.map_err(refusal)?;
        let typed = states
            .items
            .iter()
            .any(|state| state.caller.principal == caller.principal);
        if typed {
            let message = "was typed by you: somebody else of another role compares it";
            return Err(paper.refused(message).fact("principal", &caller.principal));
        }
        let role = &paper.stored.caller.role;
        let project = names::parse(&paper.stored.name).map_or("", |parts| parts.project);
        let here = |project_of: &str| project_of == "*" || project_of == project;
        let mut held = caller.bindings.iter().filter(|b| here(&b.project));
        if held.any(|binding| role_word(binding.role()) == *role) {
            let message = format!(
                "was typed under the role {role}, which is yours: another role compares it"
            );
            return Err(paper.refused(&message).fact("role", role));
        }
        Ok(())
    }

    async fn stored(&self, name: &str) -> Result<Option<Stored>, Problem> {
        self.ledger.get(name.to_owned(), 0).await.map_err(refusal)
    }

    fn text(&self, name: &str, link: &IssuerLink) -> String {
        let parts = names::parse(name);
        self.signer.text(&Link {
            purpose: PURPOSE.to_owned(),
            project: parts.map_or("", |p| p.project).to_owned(),
            id: parts.map_or("", |p| p.id).to_owned(),
            expire_time_ms: link
                .expire_time
                .as_ref()
                .map_or(0, obvert_proto::dates::unix_ms),
        })
    }

    async fn file<M: Message + Name>(
        &self,
        filer: Filer,
        write: &Write,
        filing: Filing<M>,
        now_ms: i64,
    ) -> Result<Option<Stored>, Problem> {
        let Filing {
            name,
            message,
            claims,
            asserts,
        } = filing;
        if write.validate_only {
            return Ok(None);
        }
        let body = message.encode_to_vec();
        let kind = pool().get_message_by_name(&M::full_name());
        let read = kind.and_then(|kind| DynamicMessage::decode(kind, body.as_slice()).ok());
        let references = read.as_ref().map(rules::references).unwrap_or_default();
        let mut refers: Vec<_> = references.into_iter().map(|r| r.name).collect();
        refers.sort();
        refers.dedup();
        let digest = Digest::default().part(name.as_bytes()).part(&body).finish();
        let entry = NewEntry {
            name: name.clone(),
            type_name: M::full_name(),
            body: body.into(),
            refers,
            claims,
        };
        let project = names::parse(&name).map_or("", |parts| parts.project);
        let content = (asserts, vec![entry]);
        let draft = draft(project, filer, write, digest, now_ms, content);
        self.ledger.commit(draft).await.map_err(refusal)?;
        self.stored(&name).await
    }
}

/// Name of a record that a request makes: the same request, the same name.
fn own_name(beside: &str, collection: &str, principal: &str, write: &Write) -> String {
    let digest = Digest::default()
        .part(principal.as_bytes())
        .part(write.request_id.as_bytes())
        .finish();
    let project = names::parse(beside).map_or("", |parts| parts.project);
    let id = format!("x-{}", obvert_ledger::hex(&digest[..10]));
    names::join(project, collection, &id)
}

fn absent(name: &str) -> Assert {
    Assert {
        name: name.to_owned(),
        expect: Expect::Absent,
    }
}

fn not_found(name: &str) -> Problem {
    let name = name.to_owned();
    refusal(LedgerError::NotFound { name })
}

fn reused(write: &Write, stored: &Stored) -> Problem {
    refusal(LedgerError::RequestIdReused {
        request_id: write.request_id.clone(),
        revision: stored.revision,
    })
}
