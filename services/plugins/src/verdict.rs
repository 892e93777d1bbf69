//! Asks an evaluator for a verdict and holds the answer against the contract.

use obvert_proto::{
    closeout::v1::Verdict,
    common::v1::Finding,
    plugin::v1::{
        EvaluateRequest, EvaluateResponse, Evidence,
        evaluator_service_client::EvaluatorServiceClient,
    },
};

use crate::{
    Answer, Fault, Kind, Plugin, Question,
    answer::{asked, check_echo, check_records, check_size, sent},
    description::{check_parameters, is_kebab},
};

/// Most findings of a verdict, most facts of a finding, and most characters of a text.
const FINDINGS: usize = 100;
const FACTS: usize = 20;
const TEXT: usize = 600;

/// Asks for a verdict; anything but one that the contract allows is a fault.
pub async fn ask_verdict(plugin: &Plugin, question: &Question) -> Answer<EvaluateResponse> {
    asked(plugin, Kind::Evaluator, async |description| {
        check_parameters(plugin.id(), description, &question.parameters)?;
        evaluated(plugin, question, question.wanted(description)).await
    })
    .await
}

/// One call with exactly this evidence.
pub(crate) async fn evaluated(
    plugin: &Plugin,
    question: &Question,
    evidence: Vec<Evidence>,
) -> Result<EvaluateResponse, Fault> {
    let sent = sent(&evidence);
    let request = EvaluateRequest {
        segment: question.segment.clone(),
        point: question.point.clone(),
        parameters: question.parameters.clone(),
        evidence,
        evidence_digest: question.evidence_digest.to_vec(),
    };
    check_size(plugin, &request)?;
    let client = EvaluatorServiceClient::new(plugin.channel.clone());
    let mut client = client.max_decoding_message_size(plugin.registration.answer_bytes);
    let answer = client.evaluate(request).await;
    let answer = answer.map_err(|status| Fault::of(plugin.id(), "EvaluatorService", &status))?;
    let answer = answer.into_inner();
    let id = plugin.id();
    check_echo(id, question, (&answer.segment, &answer.evidence_digest))?;
    if answer.point != question.point {
        return Err(Fault::broken(
            id,
            "does not give back the point it was asked about",
        ));
    }
    check_verdict(id, &answer)?;
    let records = answer.findings.iter().flat_map(|finding| &finding.records);
    check_records(id, &sent, answer.evidence.iter().chain(records))?;
    Ok(answer)
}

fn check_verdict(id: &str, answer: &EvaluateResponse) -> Result<(), Fault> {
    let broken = |what: &str| Err(Fault::broken(id, what));
    let rests = !answer.evidence.is_empty();
    let reason = answer.not_applicable_reason.trim();
    if !is_text(&answer.not_applicable_reason) {
        return broken("gives a reason that is too long or holds control characters");
    }
    match Verdict::try_from(answer.verdict) {
        Ok(Verdict::Released) if !rests => broken("releases without naming evidence"),
        Ok(Verdict::NotApplicable) if !rests => {
            broken("says that the point does not apply without naming evidence")
        }
        Ok(Verdict::NotApplicable) if reason.is_empty() => {
            broken("says that the point does not apply and not why")
        }
        Ok(Verdict::Held) if !answer.findings.iter().any(|finding| finding.holds) => {
            broken("holds without a finding that holds")
        }
        Ok(Verdict::Unspecified) | Err(_) => broken("gives no verdict of the contract"),
        Ok(_) if answer.findings.len() > FINDINGS => broken("gives more than 100 findings"),
        Ok(_) => match answer.findings.iter().find(|finding| !is_finding(finding)) {
            Some(_) => broken(
                "gives a finding without a kebab-case code or a sentence of at most 600 characters",
            ),
            None => Ok(()),
        },
    }
}

fn is_finding(finding: &Finding) -> bool {
    let facts = finding.facts.iter();
    let mut short = facts.map(|(name, value)| name.len() <= 60 && is_text(value));
    is_kebab(&finding.code)
        && !finding.message.trim().is_empty()
        && is_text(&finding.message)
        && finding.facts.len() <= FACTS
        && short.all(|short| short)
}

fn is_text(text: &str) -> bool {
    text.chars().count() <= TEXT && !text.chars().any(char::is_control)
}
