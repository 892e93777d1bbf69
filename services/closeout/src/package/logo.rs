//! The owner's logo: looked at before it is printed, since it comes from outside.

use bytes::Bytes;
use obvert_ledger::{Ledger, LedgerError};
use obvert_proto::{Problem, common::v1::Reason, project::v1::Attachment};
use obvert_records::{blob_refusal, refusal};
use prost::Message;

use super::originals::digest_of;
use crate::load::Loaded;

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

/// A file that the project names as its owner's logo.
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
    /// Reads the logo that the project names, at the revision of the file.
    pub(super) async fn read(ledger: &Ledger, loaded: &Loaded) -> Result<Option<Self>, Problem> {
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

    /// Holds the file against what a cover takes.
    pub(super) fn check(&self) -> Result<(), Problem> {
        let wrong = match self.media_type.as_str() {
            _ if self.bytes.len() > BYTES => Some(format!(
                "has {} bytes, a logo has {BYTES} at most",
                self.bytes.len()
            )),
            "image/png" => wrong_png(&self.bytes),
            "image/svg+xml" => wrong_svg(&self.bytes),
            other => Some(format!(
                "is filed as {other}, a logo is image/svg+xml or image/png"
            )),
        };
        wrong.map_or(Ok(()), |what| {
            let message = format!(
                "the owner's logo {} {what}: put another and name it in the project",
                self.attachment
            );
            Err(Problem::new(Reason::ActRefused, message).fact("attachment", &self.attachment))
        })
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
