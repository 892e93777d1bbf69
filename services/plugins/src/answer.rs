//! What is asked about a segment, and what comes back.

use std::collections::{BTreeMap, BTreeSet};

use obvert_proto::{
    common::v1::RecordRef,
    plugin::v1::{DescribeResponse, Evidence},
};
use prost::Message;

use crate::{
    Edition, Fault, Kind, Plugin,
    description::{check_named, introduction},
};

/// What a plug-in is asked about a segment.
#[derive(Debug, Clone, Default)]
pub struct Question {
    /// Full name of the segment.
    pub segment: String,
    /// Point of the plan; empty for a section.
    pub point: String,
    /// Parameters that the plan sets.
    pub parameters: BTreeMap<String, String>,
    /// Records of the segment; only those that the plug-in wants are sent.
    pub evidence: Vec<Evidence>,
    /// Digest over everything on file.
    pub evidence_digest: [u8; 32],
}

/// An answer, or why there is none, with what the plug-in said of itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer<T> {
    /// Which plug-in answered; empty when it did not say.
    pub edition: Edition,
    /// What it said.
    pub said: Result<T, Fault>,
}

/// Asks for the description and then, once it is known, the question itself.
pub(crate) async fn asked<T>(
    plugin: &Plugin,
    kind: Kind,
    question: impl AsyncFnOnce(&DescribeResponse) -> Result<T, Fault>,
) -> Answer<T> {
    let mut edition = Edition::default();
    let said = plugin.within(async {
        let description = introduction(plugin, kind).await?;
        edition = Edition::of(&description);
        check_named(plugin, &description)?;
        question(&description).await
    });
    let said = said.await;
    Answer { edition, said }
}

impl Question {
    /// The evidence that a plug-in wants.
    pub(crate) fn wanted(&self, description: &DescribeResponse) -> Vec<Evidence> {
        let types = &description.evidence_types;
        let is_wanted = |evidence: &&Evidence| {
            let url = evidence
                .body
                .as_ref()
                .map_or("", |body| body.type_url.as_str());
            let name = url.rsplit('/').next().unwrap_or_default();
            types.is_empty() || types.iter().any(|wanted| wanted == name)
        };
        self.evidence.iter().filter(is_wanted).cloned().collect()
    }
}

/// Refuses a question that is larger than the plug-in is sent.
pub(crate) fn check_size(plugin: &Plugin, request: &impl Message) -> Result<(), Fault> {
    let (bytes, most) = (request.encoded_len(), plugin.registration.request_bytes);
    if bytes <= most {
        return Ok(());
    }
    let message = format!(
        "the evidence for the plug-in {} has {bytes} bytes, its request_bytes allow {most}: have it \
         want fewer types of evidence, or raise the limit",
        plugin.id()
    );
    Err(Fault::new("evidence-too-large", message))
}

/// Refuses an answer about another segment or other evidence.
pub(crate) fn check_echo(
    id: &str,
    question: &Question,
    (segment, digest): (&str, &[u8]),
) -> Result<(), Fault> {
    if segment != question.segment {
        let message = format!(
            "the plug-in {id} was asked about {} and answered about \"{}\": its answer is not used",
            question.segment,
            crate::fault::repeated(segment)
        );
        return Err(Fault::new("other-segment", message));
    }
    if digest != question.evidence_digest {
        let message = format!(
            "the plug-in {id} answered for other evidence than it was sent: it must give back the \
             evidence_digest of the request"
        );
        return Err(Fault::new("other-evidence", message));
    }
    Ok(())
}

/// Refuses names of records that were not sent.
pub(crate) fn check_records<'a>(
    id: &str,
    sent: &BTreeSet<(String, i64)>,
    named: impl IntoIterator<Item = &'a RecordRef>,
) -> Result<(), Fault> {
    let is_sent = |record: &RecordRef| sent.contains(&(record.name.clone(), record.revision));
    match named.into_iter().find(|record| !is_sent(record)) {
        Some(unknown) => {
            let message = format!(
                "the plug-in {id} names \"{}@{}\", which was not among the evidence it was sent: \
                 its answer is not used",
                crate::fault::repeated(&unknown.name),
                unknown.revision
            );
            Err(Fault::new("unknown-evidence", message))
        }
        None => Ok(()),
    }
}

/// Names and revisions of what was sent.
pub(crate) fn sent(evidence: &[Evidence]) -> BTreeSet<(String, i64)> {
    let records = evidence.iter().filter_map(|one| one.record.as_ref());
    records.map(|r| (r.name.clone(), r.revision)).collect()
}
