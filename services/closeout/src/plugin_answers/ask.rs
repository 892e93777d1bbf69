//! What a plug-in is asked about one segment, and what is made of its answer.

use obvert_ledger::{Ledger, Stored};
use obvert_plugins::{Answer, Kind, Plugin, Question, ask_verdict, write_section};
use obvert_proto::{
    Problem,
    closeout::v1::{PluginSection, PluginVerdict, PointStatus, SegmentStatus, Verdict},
    common::v1::{Finding, RecordRef},
    plugin::v1::{EvaluateResponse, Evidence, WriteSectionResponse},
    pool, rules,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;
use prost_types::Any;

use super::{
    editions::Editions,
    write::{Said, commit},
};
use crate::{
    Loaded, PAST,
    hold_points::{asks, settings},
    load_segment,
    segment_file::{Kept, is_evidence},
};

/// Which of the answers on file for the evidence in force are asked for once more.
#[derive(Debug, Clone, Copy)]
pub(super) struct Again<'a> {
    /// Those that the plug-in failed to give.
    pub(super) retries: bool,
    /// Those that another edition gave, with where the segment stands; none when it was asked.
    pub(super) renewed: Option<(&'a Editions, &'a SegmentStatus)>,
}

/// Asks all that is open about one segment; answers how often the plug-in failed.
pub(super) async fn about(
    ledger: &Ledger,
    plugin: &Plugin,
    segment: &str,
    again: Again<'_>,
) -> Result<u32, Problem> {
    let loaded = load_segment(ledger, segment, 0).await?;
    let mut failed = 0;
    if plugin.is(Kind::Evaluator) {
        for question in open_points(&loaded, plugin.id(), again) {
            let answer = ask_verdict(plugin, &question).await;
            failed += u32::from(answer.said.is_err());
            let point = question.point.clone();
            let said = verdict(plugin, question, answer);
            commit(ledger, plugin.id(), segment, &[&point, plugin.id()], said).await?;
        }
    }
    if plugin.is(Kind::PackageSection) && wants_section(&loaded, plugin.id(), again) {
        let question = question(&loaded);
        let answer = write_section(plugin, &question).await;
        failed += u32::from(answer.said.is_err());
        let said = section(plugin, question, answer);
        commit(ledger, plugin.id(), segment, &[plugin.id()], said).await?;
    }
    Ok(failed)
}

/// Points of the plan that the plug-in judges and for which no verdict in force is on file, and those
/// that are asked again.
fn open_points(loaded: &Loaded, id: &str, again: Again<'_>) -> Vec<Question> {
    let points = loaded.plan.points.iter();
    let mut open = Vec::new();
    for point in points.filter(|point| asks(point) == Some(id)) {
        let parameters = settings(point);
        let verdicts = loaded.file.plugin_verdicts.iter();
        let mut in_force = verdicts.filter(|verdict| {
            verdict.point == point.id
                && verdict.evaluator == id
                && verdict.evidence_digest == loaded.file.evidence_digest()
                && verdict.parameters == parameters
        });
        let stands = |verdict: &Kept<PluginVerdict>| {
            let by = (
                verdict.evaluator_version.as_str(),
                verdict.contract_revision,
            );
            again.stands(Kind::Evaluator, &point.id, by, &verdict.fault)
        };
        if !in_force.any(stands) {
            open.push(Question {
                point: point.id.clone(),
                parameters,
                ..question(loaded)
            });
        }
    }
    open
}

fn wants_section(loaded: &Loaded, id: &str, again: Again<'_>) -> bool {
    let mut in_force = loaded.file.plugin_sections.iter().filter(|section| {
        section.plugin == id && section.evidence_digest == loaded.file.evidence_digest()
    });
    let stands = |section: &Kept<PluginSection>| {
        let by = (section.plugin_version.as_str(), section.contract_revision);
        again.stands(Kind::PackageSection, "", by, &section.fault)
    };
    !in_force.any(stands)
}

impl Again<'_> {
    /// Whether an answer of an edition is not asked for again. On an accepted segment a new edition
    /// alone asks nothing that is past.
    fn stands(
        self,
        kind: Kind,
        point: &str,
        (version, contract_revision): (&str, i32),
        fault: &str,
    ) -> bool {
        if !fault.is_empty() && (self.retries || version.is_empty()) {
            return !self.retries;
        }
        let Some((editions, status)) = self.renewed else {
            return true;
        };
        let past = |status: &&PointStatus| PAST.contains(&status.state());
        let mut points = status.points.iter().filter(past);
        let is_accepted =
            status.accepted && (point.is_empty() || points.any(|past| past.point == point));
        is_accepted
            || editions.of(kind).is_none_or(|now| {
                now.version == version && now.contract_revision == contract_revision
            })
    }
}

fn question(loaded: &Loaded) -> Question {
    let records = loaded.gathered.records.iter();
    Question {
        segment: loaded.file.name.clone(),
        evidence: records.filter(|r| is_evidence(r)).map(evidence).collect(),
        evidence_digest: loaded.file.evidence_digest(),
        ..Question::default()
    }
}

/// A record as it is sent: without the people in it, as every other program gets it.
fn evidence(stored: &Stored) -> Evidence {
    let mut value = stored.body.to_vec();
    if rules::people_fields(&stored.type_name)
        && let Some(descriptor) = pool().get_message_by_name(&stored.type_name)
    {
        // What cannot be read cannot be freed of people either, and stays here.
        let body = DynamicMessage::decode(descriptor, stored.body.clone());
        value = body.map_or_else(
            |_| Vec::new(),
            |mut body| {
                rules::without_people(&mut body);
                body.encode_to_vec()
            },
        );
    }
    Evidence {
        record: Some(RecordRef {
            name: stored.name.clone(),
            revision: stored.revision,
        }),
        body: Some(Any {
            type_url: format!("type.googleapis.com/{}", stored.type_name),
            value,
        }),
    }
}

fn verdict(plugin: &Plugin, asked: Question, answer: Answer<EvaluateResponse>) -> Said {
    let mut record = PluginVerdict {
        segment: asked.segment,
        point: asked.point,
        evaluator: plugin.id().to_owned(),
        evaluator_version: answer.edition.version,
        contract_revision: answer.edition.contract_revision,
        evidence_digest: asked.evidence_digest.to_vec(),
        parameters: asked.parameters,
        verdict: Verdict::Held.into(),
        ..PluginVerdict::default()
    };
    match answer.said {
        Ok(said) => {
            record.verdict = said.verdict;
            record.findings = said.findings;
            record.evidence = said.evidence;
            record.not_applicable_reason = said.not_applicable_reason;
        }
        Err(fault) => {
            record.fault = fault.word.to_owned();
            record.findings = vec![Finding {
                code: format!("plug-in-{}", fault.word),
                message: fault.message,
                holds: true,
                ..Finding::default()
            }];
        }
    }
    Said {
        collection: "pluginVerdicts",
        type_name: PluginVerdict::full_name(),
        body: record.encode_to_vec(),
    }
}

fn section(plugin: &Plugin, asked: Question, answer: Answer<WriteSectionResponse>) -> Said {
    let mut record = PluginSection {
        segment: asked.segment,
        plugin: plugin.id().to_owned(),
        plugin_version: answer.edition.version,
        contract_revision: answer.edition.contract_revision,
        evidence_digest: asked.evidence_digest.to_vec(),
        ..PluginSection::default()
    };
    match answer.said {
        Ok(said) => (record.title, record.blocks) = (said.title, said.blocks),
        Err(fault) => {
            (record.fault, record.fault_message) = (fault.word.to_owned(), fault.message);
        }
    }
    Said {
        collection: "pluginSections",
        type_name: PluginSection::full_name(),
        body: record.encode_to_vec(),
    }
}
