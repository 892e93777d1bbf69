//! The owner's logo: looked at before it is printed, since it comes from outside.

use bytes::Bytes;
use obvert_access::OFFICE;
use obvert_ledger::{Ledger, LedgerError, Stored};
use obvert_proto::{
    Problem,
    common::v1::Reason,
    project::v1::{Attachment, Project},
};
use obvert_records::{blob_refusal, names, refusal};
use prost::Message;

use super::originals::digest_of;
use crate::{load::Loaded, plan::CoverText, segment_file::Kept};

/// Name of the picture in the document's folder.
pub(super) const NAME: &str = "owner-logo";
/// Largest file.
const BYTES: usize = 1 << 20;
/// Most dots along a side.
const SIDE: u32 = 4_000;
/// What a picture for printing has no use for: programs, other documents, entities.
const BARRED: &[&str] = &[
    "<script",
    "<foreignobject",
    "<!doctype",
    "<!entity",
    "<image",
];

/// A file that the plan or the project names as the owner's logo.
#[derive(Debug, Clone)]
pub struct Logo {
    /// Full name of the attachment.
    pub attachment: String,
    /// Media type under which it was filed.
    pub media_type: String,
    /// The file.
    pub bytes: Bytes,
}

impl Logo {
    /// Reads the logo at the revision of the file, or why the one that the plan names cannot be
    /// printed. A plan's logo takes the place of the project's.
    pub(super) async fn read(
        ledger: &Ledger,
        loaded: &Loaded,
    ) -> Result<(Option<Self>, String), Problem> {
        let cover = loaded.plan.package.cover.as_ref();
        match cover.map(|cover| cover.logo_sha256.as_str()) {
            None | Some("") => Ok((Self::of_project(ledger, loaded).await?, String::new())),
            Some(sha256) => {
                let place = Place {
                    project: &loaded.gathered.project.name,
                    plan: &loaded.plan_ref.name,
                    revision: loaded.gathered.revision,
                    time_ms: loaded.file.commit_time_ms,
                };
                Ok(match Self::of_plan(ledger, place, sha256).await? {
                    Ok(logo) => (Some(logo), String::new()),
                    Err(why) => (None, in_words(why)),
                })
            }
        }
    }

    /// The logo that the plan names by its digest, or why there is none.
    async fn of_plan(
        ledger: &Ledger,
        place: Place<'_>,
        sha256: &str,
    ) -> Result<Result<Self, String>, Problem> {
        let filed = place.attachments(ledger).await?;
        let mut filed = filed.iter().filter_map(Kept::<Attachment>::read);
        let Some(attachment) = filed.find(|attachment| attachment.sha256 == sha256) else {
            return Ok(Err(format!(
                "the plan names one with the SHA-256 {sha256}, and at this revision no attachment \
                 about the project or the plan has it: put the picture with one of them as its \
                 subject"
            )));
        };
        let bytes = match digest_of(sha256) {
            Some(digest) => ledger.blobs().get(digest).await.map_err(blob_refusal)?,
            None => None,
        };
        let Some(bytes) = bytes else {
            let name = &attachment.name;
            return Ok(Err(format!(
                "the file of {name} is missing: restore it from a backup"
            )));
        };
        let logo = Self {
            bytes,
            attachment: attachment.name.clone(),
            media_type: attachment.media_type.clone(),
        };
        Ok(match logo.wrong() {
            None => Ok(logo),
            Some(what) => Err(format!(
                "the plan names {}, which {what}: put another picture and name it in the plan",
                logo.attachment
            )),
        })
    }

    async fn of_project(ledger: &Ledger, loaded: &Loaded) -> Result<Option<Self>, Problem> {
        let name = loaded.file.project.logo.clone();
        if name.is_empty() {
            return Ok(None);
        }
        let at = loaded.gathered.revision;
        let stored = ledger.get(name.clone(), at).await.map_err(refusal)?;
        let absent = || refusal(LedgerError::NotFound { name: name.clone() });
        let stored = stored.ok_or_else(absent)?;
        let attachment = Attachment::decode(stored.body).map_err(|_| absent())?;
        let digest = digest_of(&attachment.sha256).ok_or_else(absent)?;
        let bytes = ledger.blobs().get(digest).await.map_err(blob_refusal)?;
        Ok(Some(Self {
            bytes: bytes.ok_or_else(absent)?,
            attachment: name,
            media_type: attachment.media_type,
        }))
    }

    /// Refuses a file that a cover does not take.
    pub(super) fn check(&self) -> Result<(), Problem> {
        self.wrong().map_or(Ok(()), |what| {
            let message = format!(
                "the owner's logo {} {what}: put another and name it in the project",
                self.attachment
            );
            Err(Problem::new(Reason::ActRefused, message).fact("attachment", &self.attachment))
        })
    }

    /// What a cover does not take about the file.
    fn wrong(&self) -> Option<String> {
        match self.media_type.as_str() {
            _ if self.bytes.len() > BYTES => Some(format!(
                "has {} bytes, a logo has {BYTES} at most",
                self.bytes.len()
            )),
            "image/png" => wrong_png(&self.bytes),
            "image/svg+xml" => wrong_svg(&self.bytes),
            other => Some(format!(
                "is filed as {other}, a logo is image/svg+xml or image/png"
            )),
        }
    }
}

/// What the cover of a plan that is not stored yet would lack in a project as it stands now.
pub(crate) async fn logo_findings(
    ledger: &Ledger,
    project: &str,
    cover: &CoverText,
) -> Result<Vec<String>, Problem> {
    let name = names::join("", "projects", project);
    let stored = ledger.get(name.clone(), 0).await.map_err(refusal)?;
    let stored = stored.ok_or_else(|| refusal(LedgerError::NotFound { name: name.clone() }))?;
    let project = Project::decode(stored.body).unwrap_or_default();
    if cover.logo_sha256.is_empty() {
        return Ok(Vec::new());
    }
    let place = Place {
        project: &name,
        plan: &project.plan,
        revision: 0,
        time_ms: i64::MAX,
    };
    let found = Logo::of_plan(ledger, place, &cover.logo_sha256).await?;
    Ok(found.err().map(in_words).into_iter().collect())
}

fn in_words(why: String) -> String {
    format!("No logo is printed: {why}.")
}

/// Where and when a logo is looked for.
#[derive(Clone, Copy)]
struct Place<'a> {
    project: &'a str,
    /// Plan of the project; empty where it names none.
    plan: &'a str,
    /// Revision of the project; 0 for the newest.
    revision: i64,
    /// Time up to which files of `office` count.
    time_ms: i64,
}

impl Place<'_> {
    /// Attachments whose subject is the project or its plan. A file about anything else, such as a
    /// resident's lot, is no logo, whatever digest a plan names.
    async fn attachments(self, ledger: &Ledger) -> Result<Vec<Stored>, Problem> {
        const ATTACHMENTS: &[&str] = &["attachments"];
        let plan = self.plan.to_owned();
        let in_office = names::project_of(&plan) == OFFICE;
        let mut own = vec![self.project.to_owned()];
        own.extend((!in_office && !plan.is_empty()).then(|| plan.clone()));
        let own = ledger.referrers_of_all(own, ATTACHMENTS, self.revision);
        let mut filed = own.await.map_err(refusal)?;
        if in_office {
            let office = ledger.referrers_of_all(vec![plan], ATTACHMENTS, 0);
            let office = office.await.map_err(refusal)?.into_iter();
            filed.extend(office.filter(|stored| stored.commit_time_ms <= self.time_ms));
        }
        Ok(filed)
    }
}

fn wrong_png(bytes: &[u8]) -> Option<String> {
    let sides = bytes
        .strip_prefix(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
        .and_then(|rest| rest.first_chunk::<8>());
    let Some(&[a, b, c, d, e, f, g, h]) = sides else {
        return Some("is no PNG, as which it was filed".to_owned());
    };
    let (width, height) = (
        u32::from_be_bytes([a, b, c, d]),
        u32::from_be_bytes([e, f, g, h]),
    );
    let fits = |side: u32| (1..=SIDE).contains(&side);
    (!fits(width) || !fits(height))
        .then(|| format!("has {width} by {height} dots, a logo has 1 to {SIDE} along each side"))
}

fn wrong_svg(bytes: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(bytes).map(str::to_ascii_lowercase);
    let Ok(text) = text else {
        return Some("is no UTF-8 text and so no SVG".to_owned());
    };
    if !text.contains("<svg") || !text.trim_end().ends_with("</svg>") {
        return Some("is no SVG, as which it was filed".to_owned());
    }
    if let Some(barred) = BARRED.iter().find(|word| text.contains(**word)) {
        return Some(format!("contains {barred}, which no logo needs"));
    }
    let outside = text.split("href=").skip(1);
    let outside = outside.filter(|rest| !rest.starts_with("\"#") && !rest.starts_with("'#"));
    (outside.count() > 0).then(|| "refers to something outside itself".to_owned())
}
