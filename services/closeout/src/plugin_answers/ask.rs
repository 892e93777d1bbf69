//! What a plug-in is asked about one segment, and what is made of its answer.

use obvert_ledger::{Ledger, Stored};
use obvert_plugins::{Answer, Kind, Plugin, Question, ask_verdict, write_section};
use obvert_proto::{
    Problem,
    closeout::v1::{PluginSection, PluginVerdict, Verdict},
    common::v1::{Finding, RecordRef},
    plugin::v1::{EvaluateResponse, Evidence, WriteSectionResponse},
    pool, rules,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;
use prost_types::Any;

use super::write::{Said, commit};
use crate::{
    Loaded,
    hold_points::{asks, settings},
    load_segment,
    segment_file::is_evidence,
};

/// Asks all that is open about one segment; answers how often the plug-in failed.
pub(super) async fn about(
    ledger: &Ledger,
    plugin: &Plugin,
    segment: &str,
    retries: bool,
) -> Result<u32, Problem> {
    let loaded = load_segment(ledger, segment, 0).await?;
    let mut failed = 0;
    if plugin.is(Kind::Evaluator) {
        for question in open_points(&loaded, plugin.id(), retries) {
            let answer = ask_verdict(plugin, &question).await;
            failed += u32::from(answer.said.is_err());
            let point = question.point.clone();
            let said = verdict(plugin, question, answer);
            commit(ledger, plugin.id(), segment, &[&point, plugin.id()], said).await?;
        }
    }
    if plugin.is(Kind::PackageSection) && wants_section(&loaded, plugin.id(), retries) {
        let question = question(&loaded);
        let answer = write_section(plugin, &question).await;
        failed += u32::from(answer.said.is_err());
        let said = section(plugin, question, answer);
        commit(ledger, plugin.id(), segment, &[plugin.id()], said).await?;
    }
    Ok(failed)
}

/// Points of the plan that the plug-in judges and for which no verdict in force is on file; with
/// `retries`, also those for which it only failed to give one.
fn open_points(loaded: &Loaded, id: &str, retries: bool) -> Vec<Question> {
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
        if !in_force.any(|verdict| verdict.fault.is_empty() || !retries) {
            open.push(Question {
                point: point.id.clone(),
                parameters,
                ..question(loaded)
            });
        }
    }
    open
}

fn wants_section(loaded: &Loaded, id: &str, retries: bool) -> bool {
    let mut in_force = loaded.file.plugin_sections.iter().filter(|section| {
        section.plugin == id && section.evidence_digest == loaded.file.evidence_digest()
    });
    !in_force.any(|section| section.fault.is_empty() || !retries)
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
        evaluator_version: answer.version,
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
        plugin_version: answer.version,
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
