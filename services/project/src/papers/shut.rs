//! The page of an issuer's link: opened while the link works, answered once.

use std::fmt;

use obvert_access::LinkError;
use obvert_ledger::Caller as Filer;
use obvert_proto::{
    Problem,
    common::v1::{Reason, Write},
    dates::unix_ms,
    project::v1::{IssuerLink, PaperAnswer},
};
use obvert_records::{message_of, names};

use super::{Filing, OnFile, PURPOSE, Papers, absent};

/// A link that works, with the paper it shows.
#[derive(Debug, Clone)]
pub struct Opened {
    /// Full name of the link's record.
    pub name: String,
    /// What it is for.
    pub link: IssuerLink,
    /// The paper.
    pub paper: OnFile,
}

/// Why a link opens nothing.
#[derive(Debug)]
pub enum Shut {
    /// It was not made by this server, or was changed on the way.
    Unknown,
    /// Its time is over.
    Expired,
    /// The office ended it.
    Revoked,
    /// It was answered.
    Used,
    /// The paper has been revised, or got another original, since the link was made.
    MovedOn,
    /// The answer itself cannot be taken.
    Wrong(&'static str),
    /// The store could not be read or written.
    Failed(Problem),
}

impl fmt::Display for Shut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Unknown => "This link is not known here: check that it was copied whole.",
            Self::Expired => "This link has expired: ask the sender for a new one.",
            Self::Revoked => "This link was ended by its sender: ask for a new one.",
            Self::Used => {
                "This link was used: the answer is on file. Ask for a new one to answer again."
            }
            Self::MovedOn => {
                "The typed values were changed since this link was sent: ask for a new one."
            }
            Self::Wrong(why) => why,
            Self::Failed(_) => "The answer could not be taken now: try again later.",
        })
    }
}

impl Papers {
    /// What a link shows, if it still works.
    ///
    /// # Errors
    ///
    /// [`Shut`] says why not.
    pub async fn open(&self, text: &str, now_ms: i64) -> Result<Opened, Shut> {
        let read = self.signer.read(PURPOSE, text, now_ms);
        let read = read.map_err(|error| match error {
            LinkError::Unknown => Shut::Unknown,
            LinkError::Expired => Shut::Expired,
        })?;
        let name = names::join(&read.project, "issuerLinks", &read.id);
        let stored = self.stored(&name).await.map_err(Shut::Failed)?;
        let link: IssuerLink = message_of(&stored.ok_or(Shut::Unknown)?).map_err(Shut::Failed)?;
        if link.revoke_time.is_some() {
            return Err(Shut::Revoked);
        }
        if link.expire_time.as_ref().map_or(0, unix_ms) <= now_ms {
            return Err(Shut::Expired);
        }
        let paper = self.on_file(&link.paper).await.map_err(Shut::Failed)?;
        let used = |check: &obvert_ledger::Stored| check.refers.contains(&name);
        if paper.checks.iter().any(used) {
            return Err(Shut::Used);
        }
        if paper.stored.revision != link.paper_revision {
            return Err(Shut::MovedOn);
        }
        Ok(Opened { name, link, paper })
    }

    /// Files the issuer's answer and uses up the link.
    ///
    /// # Errors
    ///
    /// [`Shut`] says why not; nothing was filed then.
    pub async fn answer(
        &self,
        text: &str,
        (answer, remark): (PaperAnswer, &str),
        now_ms: i64,
    ) -> Result<Opened, Shut> {
        let opened = self.open(text, now_ms).await?;
        if remark.chars().count() > 500 {
            return Err(Shut::Wrong(
                "The remark has more than 500 characters: go back and shorten it.",
            ));
        }
        if answer == PaperAnswer::Differs && remark.trim().is_empty() {
            return Err(Shut::Wrong(
                "Nothing says what differs: go back and say it in a few words.",
            ));
        }
        let paper = &opened.paper;
        let message = paper.checked(answer, remark, &opened.name);
        let id = names::id_of(&opened.name).to_owned();
        let project = names::parse(&opened.name).map_or("", |parts| parts.project);
        let name = names::join(project, "paperChecks", &id);
        let filing = Filing {
            asserts: vec![paper.unchanged(), absent(&name)],
            claims: vec![format!("issuer-link/{id}")],
            name,
            message: message.map_err(Shut::Failed)?,
        };
        let filer = Filer {
            principal: format!("issuer/{}", plain(&opened.link.issuer)),
            role: "issuer".to_owned(),
            key_id: id.clone(),
        };
        let write = Write {
            request_id: id,
            reason: format!("answer of {} through its link", opened.link.issuer),
            ..Write::default()
        };
        let filed = self.file(filer, &write, filing, now_ms).await;
        filed.map_err(|problem| match problem.reason {
            // Somebody was faster, with the link or with the paper.
            Reason::RecordExists | Reason::RequestIdReused | Reason::ClaimTaken => Shut::Used,
            Reason::EtagStale => Shut::MovedOn,
            _ => Shut::Failed(problem),
        })?;
        Ok(opened)
    }
}

/// A firm's name as the last part of a principal: `Fernmoss Materials Laboratory` as
/// `fernmoss-materials-laboratory`.
fn plain(firm: &str) -> String {
    let letters = firm.to_lowercase();
    let words = letters.split(|c: char| !c.is_ascii_alphanumeric());
    let words: Vec<_> = words.filter(|word| !word.is_empty()).collect();
    match words.join("-") {
        plain if plain.is_empty() => "unnamed".to_owned(),
        plain => plain,
    }
}
